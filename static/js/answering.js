/** How answers behave under a thumb: taken back, excluding each other, given many at once. */
import { all, answers, make, word } from "./dom.js";

/** Questions of state that stand open get their sound answer, in sight; the server does the same. */
export function fillSound(step) {
  for (const question of all("[data-sound]:not([hidden])", step)) {
    const choices = all("input[type=radio], .choices input[type=checkbox]", question);
    if (!choices.some((choice) => choice.checked)) {
      choices.filter((choice) => choice.value === question.dataset.sound).forEach((choice) => (choice.checked = true));
    }
  }
  rememberRadios(step);
}

const chosen = new Map(); // radio group → the value that was chosen before this tap

export function rememberRadios(root = document) {
  for (const radio of all("input[type=radio]", root)) chosen.delete(radio.name);
  for (const radio of all("input[type=radio]:checked", root)) chosen.set(radio.name, radio.value);
}

/** A second tap on a chosen answer takes it back: not answered is an answer too. */
export function takeBack(radio) {
  if (chosen.get(radio.name) !== radio.value) return;
  radio.checked = false;
  chosen.delete(radio.name);
  radio.dispatchEvent(new Event("change", { bubbles: true }));
}

/** "None" excludes the others, and they exclude it. */
export function exclude(box) {
  if (!box.checked) return;
  for (const other of all(`[name="${box.name}"]:checked`, box.closest(".choices") || document)) {
    if (other !== box && (box.value === "none" || other.value === "none")) other.checked = false;
  }
}

/** As many cells for single strings as the instrument has; filled ones stay in sight. */
export function trimStrings() {
  const count = Number(answers("string_count")[0]) || 6;
  all('[name="gauges"]').forEach((cell, i) => (cell.hidden = i >= count && !cell.value));
}

/** One tap answers every part that nobody has spoken of yet. */
export function offerRest(box) {
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

/* A tap that bounces: the second touch of one place within a moment is no second answer, whatever lies there by now. */

const MOMENT = 600; // ms
const NEAR = 24; // px
const ANSWERS = ".rule button, .choices input, .choices button, .cells input, .sheet button, .pass button[name]";

let last = { at: -MOMENT }, again = false, answered;

document.addEventListener("pointerdown", ({ timeStamp: at, clientX: x, clientY: y }) => {
  again = at - last.at < MOMENT && Math.hypot(x - last.x, y - last.y) < NEAR;
  last = { at, x, y };
}, { capture: true, passive: true });

function bounced(target, timeStamp) {
  const same = target === answered?.target && timeStamp - answered.at < MOMENT;
  answered = { target, at: timeStamp };
  return same || (again && !target.closest(".pass"));
}

document.addEventListener("click", (event) => {
  const target = event.isTrusted && event.target.closest?.(ANSWERS);
  if (!target || target.matches("[type=text], input:not([type])") || !bounced(target, event.timeStamp)) return;
  event.preventDefault();
  event.stopImmediatePropagation();
}, { capture: true });

/* Which questions are asked: by family and by other answers, the same rule as on the server. */

/** "rod=one_way|two_way&bridge_kind=pin": every named question must hold one of its values. */
export function holds(rule, answersOf) {
  return rule.split("&").filter(Boolean).every((part) => {
    const [id, values] = part.split("=");
    const given = answersOf(id);
    return values.split("|").some((value) => given.includes(value));
  });
}

export function asked(question, answersOf = answers) {
  const { families = "", when = "" } = question.dataset;
  const family = answersOf("family")[0];
  return (!families || families.split(" ").includes(family)) && holds(when, answersOf);
}

/** Show the questions that are asked now, hide the others; what stands in them is kept. */
export function sift(root = document) {
  for (const question of all("[data-families], [data-when]", root)) question.hidden = !asked(question);
}
