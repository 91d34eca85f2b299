/** The twelve steps as one document: one shown at a time, moves are instant and need no line. */
import "./bounce.js";
import { exclude, fillSound, offerRest, rememberRadios, takeBack, trimStrings } from "./answering.js";
import { sift } from "./conditions.js";
import { all, answers, fieldsOf, word } from "./dom.js";
import { takePhotos } from "./photos.js";
import { offerLately, rememberLately } from "./lately.js";
import { handOver, price } from "./price.js";
import { restore } from "./restore.js";
import { bringIn, markTargets, ruled } from "./rule.js";
import * as saving from "./saving.js";
import { ticketAddress } from "./ticket.js";

const form = document.getElementById("wizard");
const steps = all("[data-step]");
const visited = new Set();
const DOUBLE_TAP = 350; // ms in which a second tap on Next is the same tap
let current = steps[0];
let lastMove = 0;

const byHash = () => steps.find((step) => `#${step.id}` === location.hash);
const beside = (step, by) => steps[steps.indexOf(step) + by];
const filled = (step) => fieldsOf(step).some((field) =>
  field.type !== "hidden" && (["radio", "checkbox"].includes(field.type) ? field.checked : field.value.trim()));

function stateOf(step) {
  const { passed } = step.dataset;
  if (all(".problem, .clash", step).some((problem) => problem.textContent.trim())) return "wrong";
  if (passed === "not_assessed") return "off";
  if (step.id !== "quote" && (passed === "all_sound" || filled(step))) return "done";
  return visited.has(step) && step !== current && step.id !== "quote" ? "skip" : "";
}

/** Where a ticket is gone on with: the first step that holds nothing or is to be looked at again, else the quote. */
const firstOpen = () => steps.find((step) => ["", "wrong"].includes(stateOf(step)));

function showProgress() {
  for (const link of all("[data-of]")) {
    const step = document.getElementById(link.dataset.of);
    const state = stateOf(step), now = step === current;
    link.setAttribute("class", `${state}${now ? " now" : ""}`);
    const note = link.querySelector("small");
    if (!note) continue;
    note.textContent = now ? word("now") : state && word(state);
    if (now) link.setAttribute("aria-current", "step");
    else link.removeAttribute("aria-current");
  }
}

function showFoot() {
  const next = beside(current, 1);
  document.getElementById("back").disabled = current === steps[0];
  document.getElementById("next").textContent = next ? word("next").replace("{name}", next.dataset.name) : word("handOver");
}

function showShort() {
  const open = notNeeded();
  const pass = document.getElementById("pass-player");
  if (!pass) return;
  const button = document.getElementById("short");
  const onlyStrings = answers("complaints").join() === "restring";
  const { strings, one, some } = button.dataset;
  button.textContent = onlyStrings ? strings : open.length === 1 ? one : some.replace("{n}", open.length);
  pass.hidden = !open.length || !answers("complaints").length;
}

/** Steps that no complaint calls for and that hold nothing yet. */
function notNeeded() {
  const complaints = answers("complaints");
  return steps.filter((step) => !("always" in step.dataset) && !step.dataset.passed && !filled(step)
    && !complaints.some((one) => step.dataset.needed.split(" ").includes(one)));
}

function refresh() {
  sift();
  trimStrings();
  showShort();
  showProgress();
}

function show(step, focus = true) {
  if (step !== current) visited.add(current);
  for (const other of steps) other.classList.toggle("now", other === step);
  current = step;
  closeList();
  refresh();
  showFoot();
  nameIt();
  document.getElementById("count").textContent = steps.indexOf(step) + 1;
  if (!filled(step)) offerLately(step);
  all(".rule", step).forEach(bringIn);
  step.dispatchEvent(new CustomEvent("step:shown"));
  if (focus) step.querySelector("h1").focus({ preventScroll: true });
  window.scrollTo(0, 0);
  if (step.id === "quote") price();
}

function nameIt() {
  const title = document.getElementById("title").value;
  document.title = `${current.dataset.name} · ${title} · Tallyfret`;
  document.getElementById("where").textContent = `${title} · ${current.dataset.name}`;
}

/** A tap that counted is felt, where the phone can and nobody asked for calm. */
const felt = () => matchMedia("(prefers-reduced-motion: reduce)").matches || navigator.vibrate?.(10);

/** A greasy tap that bounces: it would hit the button that the next step has at the same place. */
const bounced = () => Date.now() - lastMove < DOUBLE_TAP;

function go(step) {
  if (!step) return;
  lastMove = Date.now();
  saving.now();
  location.hash = step.id;
}

/** The step in the address. A move that has only just begun stands there already, while `current` is the last one. */
const at = () => location.hash || `#${current.id}`;

/** The ticket is kept, here or there: a reload finds it, and this step of it. */
function settleAddress() {
  if (location.pathname !== ticketAddress()) history.replaceState(null, "", ticketAddress() + at());
}

/** Pass a step: as judged sound, or as not looked at. The same tap again takes it back. */
function pass(step, how, on = step.dataset.passed !== how) {
  step.dataset.passed = on ? how : "";
  for (const button of all(".pass button[name]", step)) {
    button.setAttribute("aria-pressed", String(on && button.value === how));
  }
  if (on && how === "all_sound") fillSound(step);
  saving.now(step);
}

function typed({ target }) {
  if (["radio", "checkbox", "file"].includes(target.type)) return;
  saving.later(target.closest("[data-step]"), true);
}

function changed({ target }) {
  if (!target.form) return; // an offer of the quote is looked at, not answered
  const step = target.closest("[data-step]");
  if (target.type === "radio") rememberRadios(target.closest(".choices"));
  if (target.type === "checkbox") exclude(target);
  if (step.dataset.passed === "not_assessed") pass(step, "not_assessed", false);
  if (target.type !== "file") saving.later(step);
  refresh();
}

/** The sign-in page leads back to this step. */
function comeBack(link) {
  link.search = new URLSearchParams({ next: location.pathname + at() });
}

function closeList() {
  document.getElementById("steps").classList.remove("open");
  document.getElementById("steps-button").setAttribute("aria-expanded", "false");
}

function toggleList() {
  const open = document.getElementById("steps").classList.toggle("open");
  document.getElementById("steps-button").setAttribute("aria-expanded", String(open));
}

/** Messages came: say so to those who do not see the colour. */
function markWrong(step) {
  for (const problem of all(".problem", step)) {
    const id = problem.id.slice(2);
    for (const field of all(`#a-${CSS.escape(id)}, [name="${CSS.escape(id)}"]`, step)) {
      if (problem.textContent.trim()) field.setAttribute("aria-invalid", "true");
      else field.removeAttribute("aria-invalid");
    }
  }
}

function listen() {
  form.addEventListener("change", changed);
  form.addEventListener("input", typed);
  form.addEventListener("click", ({ target }) => target.type === "radio" && target.form && takeBack(target));
  document.addEventListener("click", ({ target }) => target.closest("button, input[type=radio], input[type=checkbox]") && felt());
  form.addEventListener("submit", (event) => event.submitter?.name === "keep" || event.preventDefault());
  form.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !event.target.matches("input")) return;
    event.preventDefault(); // it would press the first button of the form
    event.target.blur(); // and the phone's keyboard makes way
  });
  form.addEventListener("click", (event) => {
    const button = event.target.closest(".pass button[name]");
    if (!button || bounced()) return;
    const step = button.closest("[data-step]");
    pass(step, button.value);
    refresh();
    if (step.dataset.passed) go(beside(step, 1));
  });
  document.getElementById("short")?.addEventListener("click", () => {
    const others = notNeeded();
    for (const step of others) pass(step, "not_assessed", true);
    go(steps.find((step) => steps.indexOf(step) > steps.indexOf(current) && step.dataset.passed !== "not_assessed"));
  });
  document.getElementById("back").addEventListener("click", () => bounced() || go(beside(current, -1)));
  document.getElementById("next").addEventListener("click", () => {
    if (!bounced()) beside(current, 1) ? go(beside(current, 1)) : handOver();
  });
  document.getElementById("steps-button").addEventListener("click", toggleList);
  document.addEventListener("click", ({ target }) => target.closest("[data-return]") && comeBack(target));
  document.querySelector(".board").addEventListener("click", (event) => event.target.closest("a") || toggleList());
  window.addEventListener("hashchange", () => show(byHash() || steps[0]));
  const foot = document.querySelector(".foot");
  new ResizeObserver(() => {
    const { classList, style } = document.documentElement;
    style.setProperty("--foot", `${foot.offsetHeight}px`);
    classList.toggle("tight", foot.offsetHeight * 5 > innerHeight); // large text: the step itself needs the room
  }).observe(foot);
  for (const kept of ["photo:kept", "step:kept"]) document.addEventListener(kept, settleAddress);
  document.addEventListener("step:saved", ({ target }) => {
    settleAddress();
    nameIt();
    rememberLately(target);
    markWrong(target);
    markTargets();
    showProgress();
  });
}

/** The drawings are fetched when their step comes up, as a rule from the phone itself; without them the plain fields stand. */
function drawnOver(selector, load) {
  const body = document.querySelector(selector), step = body?.closest("[data-step]");
  let drawing;
  step?.addEventListener("step:shown", async () => {
    drawing ||= load(step, body);
    await drawing.then((map) => map.draw(), () => (drawing = undefined));
  });
}

function start() {
  document.documentElement.classList.add("js");
  all("input[list]", form).filter((input) => !input.closest(".pin")).forEach(ruled);
  drawnOver("[data-depths]", async (step) => new (await import("./frets.js")).FretMap(step));
  drawnOver("fieldset#pins", async (_, body) => new (await import("./pins.js")).PinMap(body));
  const photos = document.querySelector("fieldset#photos");
  if (photos) takePhotos(photos);
  for (const part of all(".q > .part:first-of-type")) offerRest(part.parentNode);
  rememberRadios();
  listen();
  markTargets();
  show(byHash() || document.getElementById(form.dataset.at) || firstOpen(), false);
  saving.now(); // what an earlier visit left
}

if (await restore(steps)) start();
