/** The twelve steps as one document: one shown at a time, moves are instant and need no line. */
import { trigger } from "./adaptor.js";
import { sift } from "./conditions.js";
import { all, answers, fieldsOf, make, word } from "./dom.js";
import { FretMap } from "./frets.js";
import { takePhotos } from "./photos.js";
import { PinMap } from "./pins.js";
import { bringIn, markTargets, ruled } from "./rule.js";
import * as saving from "./saving.js";
import { ticketAddress } from "./ticket.js";
import { uuid7 } from "./uuid.js";

const form = document.getElementById("wizard");
const steps = all("[data-step]");
const visited = new Set();
const DOUBLE_TAP = 350; // ms in which a second tap on Next is the same tap
const ASK_AGAIN = 5000;
let current = steps[0];
let lastMove = 0;

const byHash = () => steps.find((step) => `#${step.id}` === location.hash);
const beside = (step, by) => steps[steps.indexOf(step) + by];
const filled = (step) => fieldsOf(step).some((field) =>
  field.type !== "hidden" && (["radio", "checkbox"].includes(field.type) ? field.checked : field.value.trim()));

function stateOf(step) {
  const { passed } = step.dataset;
  if (all(".problem", step).some((problem) => problem.textContent.trim())) return "wrong";
  if (passed === "not_assessed") return "off";
  if (step.id !== "quote" && (passed === "all_sound" || filled(step))) return "done";
  return visited.has(step) && step !== current && step.id !== "quote" ? "skip" : "";
}

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
  const strings = answers("complaints").join() === "restring";
  button.textContent = strings ? button.dataset.strings : button.dataset.some.replace("{n}", open.length);
  pass.hidden = !open.length || !answers("complaints").length;
}

/** Steps that no complaint calls for and that hold nothing yet. */
function notNeeded() {
  const complaints = answers("complaints");
  return steps.filter((step) => !("always" in step.dataset) && !step.dataset.passed && !filled(step)
    && !complaints.some((one) => step.dataset.needed.split(" ").includes(one)));
}

/** As many cells for single strings as the instrument has; filled ones stay in sight. */
function trimStrings() {
  const count = Number(answers("string_count")[0]) || 6;
  all('[name="gauges"]').forEach((cell, i) => (cell.hidden = i >= count && !cell.value));
}

/** One tap answers every part that nobody has spoken of yet. */
function offerRest(box) {
  const rest = make("div", { class: "choices three", role: "group", "aria-label": word("rest") });
  for (const first of all("input", box.querySelector(".part"))) {
    const button = make("button", { type: "button" }, first.nextElementSibling.textContent);
    button.addEventListener("click", () => {
      for (const part of all(".part", box).filter((one) => !one.querySelector(":checked"))) {
        part.querySelector(`[value="${first.value}"]`).click();
      }
    });
    rest.append(button);
  }
  box.append(make("div", { class: "part" }, make("b", {}, word("rest")), rest));
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

/** A greasy tap that bounces: it would hit the button that the next step has at the same place. */
const bounced = () => Date.now() - lastMove < DOUBLE_TAP;

function go(step) {
  if (!step) return;
  lastMove = Date.now();
  saving.now();
  location.hash = step.id;
}

let priceOwed = false;

/** Fetch the quote as it is now; while the line is down say so, and ask again when the saves are through. */
async function price() {
  priceOwed = !(await saving.flushed());
  if (priceOwed) noPrice();
  else trigger(document.getElementById("summary"), "ask");
}

function noPrice() {
  const place = document.getElementById("summary");
  if (!place.childElementCount) place.textContent = word("price");
}

async function handOver() {
  if (!(await saving.flushed())) return;
  const freeze = document.getElementById("hand-over");
  freeze.action = ticketAddress() + "/quotes";
  freeze.elements.key.value ||= uuid7();
  freeze.submit();
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

/** Questions of state that stand open get their sound answer, in sight; the server does the same. */
function fillSound(step) {
  for (const question of all("[data-sound]:not([hidden])", step)) {
    const choices = all("input[type=radio], .choices input[type=checkbox]", question);
    if (!choices.some((choice) => choice.checked)) {
      choices.filter((choice) => choice.value === question.dataset.sound).forEach((choice) => (choice.checked = true));
    }
  }
  rememberRadios(step);
}

const chosen = new Map(); // radio group → the value that was chosen before this tap
function rememberRadios(root = document) {
  for (const radio of all("input[type=radio]:checked", root)) chosen.set(radio.name, radio.value);
}

/** A second tap on a chosen answer takes it back: not answered is an answer too. */
function takeBack(radio) {
  if (chosen.get(radio.name) !== radio.value) return;
  radio.checked = false;
  chosen.delete(radio.name);
  radio.dispatchEvent(new Event("change", { bubbles: true }));
}

/** "None" excludes the others, and they exclude it. */
function exclude(box) {
  if (!box.checked) return;
  for (const other of all(`[name="${box.name}"]:checked`, box.closest(".choices") || document)) {
    if (other !== box && (box.value === "none" || other.value === "none")) other.checked = false;
  }
}

function changed({ target }) {
  const step = target.closest?.("[data-step]");
  if (!step) return;
  if (target.type === "radio" && target.checked) chosen.set(target.name, target.value);
  if (target.type === "checkbox") exclude(target);
  if (step.dataset.passed === "not_assessed") pass(step, "not_assessed", false);
  saving.later(step);
  refresh();
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
  form.addEventListener("input", (event) => {
    if (!["radio", "checkbox", "file"].includes(event.target.type)) changed(event);
  });
  form.addEventListener("click", ({ target }) => target.type === "radio" && takeBack(target));
  form.addEventListener("submit", (event) => event.submitter?.name === "keep" || event.preventDefault());
  form.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && event.target.matches("input")) event.preventDefault();
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
  document.querySelector(".board").addEventListener("click", (event) => event.target.closest("a") || toggleList());
  window.addEventListener("hashchange", () => show(byHash() || steps[0]));
  const foot = document.querySelector(".foot");
  new ResizeObserver(() => document.documentElement.style.setProperty("--foot", `${foot.offsetHeight}px`)).observe(foot);
  document.addEventListener("part:failed", () => {
    noPrice();
    setTimeout(() => current.id === "quote" && price(), ASK_AGAIN);
  });
  document.addEventListener("step:saved", ({ target }) => {
    if (location.pathname !== ticketAddress()) history.replaceState(null, "", ticketAddress() + location.hash);
    nameIt();
    markWrong(target);
    markTargets();
    showProgress();
    if (priceOwed && !saving.unsent()) price();
  });
}

function start() {
  document.documentElement.classList.add("js");
  all("input[list]", form).filter((input) => !input.closest(".pin")).forEach(ruled);
  const frets = document.querySelector("[data-depths]")?.closest("[data-step]");
  const map = frets && new FretMap(frets);
  frets?.addEventListener("step:shown", () => map.draw());
  const body = document.querySelector("fieldset#pins");
  const pins = body && new PinMap(body);
  body?.closest("[data-step]").addEventListener("step:shown", () => pins.draw());
  const photos = document.querySelector("fieldset#photos");
  if (photos) takePhotos(photos, () => ticketAddress() + "/photos");
  for (const part of all(".q > .part:first-of-type")) offerRest(part.parentNode);
  rememberRadios();
  listen();
  markTargets();
  show(byHash() || document.querySelector("[data-step].now"), false);
}

start();
