/** The twelve steps as one document: one shown at a time, moves are instant and need no line. */
import { exclude, fillSound, offerRest, rememberRadios, sift, takeBack, trimStrings } from "./answering.js";
import { all, answers, fieldsOf, word } from "./dom.js";
import { fetched } from "./fetched.js";
import { writePart, writePassed } from "./parts.js";
import { bringIn, markTargets, ruled } from "./rule.js";
import * as saving from "./saving.js";
import { byOf, open } from "./shown.js";
import { ticketAddress } from "./ticket.js";
import { uuid7 } from "./uuid.js";

const lately = localStorage["answered lately"] ? await fetched("lately").catch(() => undefined) : undefined;
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

/** What keeps the quote from being handed over: the way there. */
const heldUp = () => document.querySelector("#summary:not([hidden]) [data-holds]");

function showFoot() {
  const next = beside(current, 1);
  document.getElementById("back").disabled = current === steps[0];
  document.getElementById("next").textContent = next ? word("next").replace("{name}", next.dataset.name)
    : heldUp()?.dataset.holds || word("handOver");
}

function goOn() {
  const next = beside(current, 1), way = heldUp();
  if (next) go(next);
  else if (way) way.click();
  else withPrice(({ handOver }) => handOver());
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
  if (!filled(step)) lately?.offerLately(step);
  all(".rule", step).forEach(bringIn);
  step.dispatchEvent(new CustomEvent("step:shown"));
  if (focus) step.querySelector("h1").focus({ preventScroll: true });
  window.scrollTo(0, 0);
  if (step.id === "quote") withPrice(({ price }) => price());
}

/** What the last step does is fetched when it comes up; without a line it says so. */
const withPrice = (work) => fetched("price").then(work, () => {
  document.getElementById("summary").hidden = true;
  document.getElementById("unpriced").hidden = false;
});

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

/** Pass a step: as judged sound, or as not looked at. The same tap again takes it back, with all that it filled in. */
function pass(step, how, on = step.dataset.passed !== how) {
  saving.now(step); // what the hand gave before stays the hand's
  const before = step.dataset.passed;
  writePassed(step, on ? how : "");
  if (on && how === "all_sound") fillSound(step);
  if (before === "all_sound" && !(on && how === "all_sound")) emptySound(step);
  rememberRadios(step);
  const changed = saving.now(step, { by: on && how === "all_sound" ? "sound" : "hand", act: uuid7() });
  if (!on) mayUndo(step, changed, step);
}

/** What "All sound" filled in and no hand has touched since. */
function emptySound(step) {
  for (const question of all("[data-sound]", step)) {
    const id = question.dataset.q, parts = [id, `${id}/${question.dataset.sound}`];
    for (const part of parts.filter((one) => byOf(one) === "sound")) writePart(part, "", step);
  }
}

let inHand = 0; // choices of photos that no module has taken yet: leaving asks
window.addEventListener("beforeunload", (event) => inHand && event.preventDefault());

/** Photos were chosen. The same picture may be chosen again, and the whole form stays small. */
async function photosChosen(input) {
  const files = [...input.files];
  input.value = "";
  inHand += 1;
  for (;;) {
    try {
      const { takePhotos } = await fetched("photos");
      inHand -= 1;
      return await takePhotos(input.closest("fieldset"), files);
    } catch { // the line is down, and nothing of this program stands on the phone
      await new Promise((again) => setTimeout(again, 3000));
    }
  }
}

function typed({ target }) {
  if (["radio", "checkbox", "file"].includes(target.type)) return;
  const step = target.closest("[data-step]");
  if (step) saving.later(step, true);
}

function changed({ target }) {
  if (target.type === "file") photosChosen(target);
  if (!target.form) return; // an offer of the quote is looked at, not answered
  const step = target.closest("[data-step]");
  if (target.type === "radio") rememberRadios(target.closest(".choices"));
  if (target.type === "checkbox") exclude(target);
  if (step.dataset.passed === "not_assessed") pass(step, "not_assessed", false);
  if (target.type !== "file") mayUndo(step, saving.later(step), target);
  refresh();
}

/** One of the values of a clash was chosen. */
async function chosen(event) {
  const button = event.target.closest("button[name=choose]");
  if (!button) return;
  event.preventDefault();
  const step = button.closest("[data-step]");
  (await fetched("clashes")).take(button);
  saving.now(step);
  refresh();
}

/** What a tap has made blank may be had back. A field that was typed empty is typed again. */
async function mayUndo(step, changed, target) {
  const given = ticks(target) ? target.checked : document.activeElement === target;
  const taken = given ? [] : changed.filter(({ value, before }) => before.value && !value);
  if (taken.length || !document.getElementById("undo").hidden) (await fetched("undo")).offerUndo(step, taken);
}

const ticks = (field) => ["radio", "checkbox"].includes(field.type);

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
  form.addEventListener("click", chosen);
  document.addEventListener("part:laid", async ({ detail }) => {
    if (detail.clash?.length || detail.step?.querySelector(".clash")) (await fetched("clashes")).show(detail);
  });
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
    if (!bounced()) goOn();
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
  document.addEventListener("step:shown-anew", ({ target }) => {
    rememberRadios(target);
    refresh();
  });
  for (const looked of ["part:shown", "part:failed"]) document.addEventListener(looked, showFoot);
  document.addEventListener("step:unsaved", () => (document.getElementById("range").textContent = "–"));
  document.addEventListener("step:saved", ({ target }) => {
    settleAddress();
    nameIt();
    fetched("lately").then(({ rememberLately }) => rememberLately(target), () => {});
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
    await drawing.then((map) => map?.draw(), () => (drawing = undefined));
  });
}

/** What stands here for pages without script: the drawings of the families. */
async function unpack(_, box) {
  for (const waits of all("noscript", box)) waits.outerHTML = waits.textContent;
}

function start() {
  document.documentElement.classList.add("js");
  all("input[list]", form).filter((input) => !input.closest(".pin")).forEach(ruled);
  drawnOver(".family", unpack);
  drawnOver("[data-depths]", async (step) => new (await fetched("frets")).FretMap(step));
  drawnOver("fieldset#pins", async (_, body) => new (await fetched("pins")).PinMap(body));
  drawnOver("fieldset#photos", async (_, box) => (await fetched("photos")).showPhotos(box));
  for (const part of all(".q > .part:first-of-type")) offerRest(part.parentNode);
  rememberRadios();
  listen();
  markTargets();
  show(byHash() || document.getElementById(form.dataset.at) || firstOpen(), false);
  saving.begin(); // what an earlier visit left goes first
}

if (await open()) start();
else {
  form.hidden = true;
  document.getElementById("absent").hidden = false;
}
