/** The form as parts, and back: a question whose answer has members is so many parts (`fret_wear/7`, `complaints/buzz`). */
import { all, fieldsOf } from "./dom.js";
import { uuid7 } from "./uuid.js";

const OF_PIN = ["part", "kind", "state", "size", "count", "x", "y"];
const OURS = /^(base|shown)\.|^based_on\./; // what the page posts besides answers
const form = document.getElementById("wizard");

const kindOf = (field) => field.closest("[data-kind]")?.dataset.kind;
const ticks = (field) => ["radio", "checkbox"].includes(field.type);

/** The fields of a step that hold answers. */
const answering = (step) => fieldsOf(step).filter((field) => !OURS.test(field.name) && !field.closest("template"));

function partOf(field, at) {
  const kind = kindOf(field), { name } = field;
  if (kind === "pins") return `pins/${name.split(".")[1]}`;
  if (kind === "photos") return name.replace(".", "/");
  if (field.type === "checkbox") return `${name}/${field.value}`;
  if (kind === "measures") return `${name}/${at + 1}`;
  if (kind === "string_frets") return `${name}/${field.value.trim().replaceAll("/", "-")}`;
  return name.replace(".", "/");
}

const valueOf = (field) => {
  if (field.type === "checkbox") return kindOf(field) === "photos" ? field.value : "yes";
  return field.value.trim() && field.value;
};

/** Every part that a step has fields for, with its value; blank ones are "". */
export function readStep(step) {
  const parts = new Map([[`passed.${step.id}`, step.dataset.passed || ""]]);
  const counts = {}, pins = new Map();
  for (const field of answering(step)) {
    const at = (counts[field.name] = (counts[field.name] ?? -1) + 1);
    if (kindOf(field) === "string_frets" && !field.value.trim()) continue;
    const part = partOf(field, at);
    if (kindOf(field) === "pins") pins.set(part, [...(pins.get(part) || []), [field.name.split(".")[2], field.value.trim()]]);
    else if (!ticks(field) || field.checked) parts.set(part, valueOf(field));
    else if (!parts.has(part)) parts.set(part, "");
  }
  for (const [part, pairs] of pins) parts.set(part, pinText(Object.fromEntries(pairs)));
  return parts;
}

/** A pin is one value, its members in one order. A row with nothing but its place is no pin yet. */
function pinText(pin) {
  const held = OF_PIN.filter((name) => pin[name]).map((name) => [name, pin[name]]);
  return held.length ? JSON.stringify(Object.fromEntries(held)) : "";
}

const fieldsNamed = (name) => all(`[name="${CSS.escape(name)}"]`, form);

/** The step that a part is answered in on this page; none for a question that the page does not have. */
export function stepOf(part) {
  if (part.startsWith("passed.")) return document.getElementById(part.slice("passed.".length));
  const [id, member] = part.split("/");
  return (document.querySelector(`[data-q="${CSS.escape(id)}"]`) || fieldsNamed(member ? `${id}.${member}` : id)[0])?.closest("[data-step]");
}

/** Put a value into the page, as if it had been rendered with it: no hand gave it just now. */
export function writePart(part, value, step = stepOf(part)) {
  if (part.startsWith("passed.")) return writePassed(step, value);
  const [id, member = ""] = part.split("/");
  const kind = document.querySelector(`[data-q="${CSS.escape(id)}"]`)?.dataset.kind;
  if (kind === "pins") writePin(step, member, value);
  else if (kind === "string_frets") writeInList(id, part, value);
  else if (kind === "photos") tick(fieldsNamed(`photos.${member}`)[0], Boolean(value));
  else if (kind === "measures") set(fieldsNamed(id)[member - 1], value);
  else if (["several", "frets"].includes(kind)) tick(fieldsNamed(id).find((field) => field.value === member), Boolean(value));
  else writeFields(fieldsNamed(part.replace("/", ".")), value);
}

function writeFields(fields, value) {
  for (const field of fields) ticks(field) ? tick(field, field.value === value) : set(field, value);
}

function set(field, value) {
  if (!field || field.value === value) return;
  field.value = value;
  field.closest("details")?.setAttribute("open", ""); // what is laid over the page is seen
  field.dispatchEvent(new Event("shown"));
}

function tick(field, on) {
  if (field) field.checked = on;
}

function writeInList(id, part, value) {
  const fields = fieldsNamed(id);
  const here = fields.find((field) => field.value.trim() && partOf(field, 0) === part);
  if (here || !value) return here && set(here, value);
  const free = fields.find((field) => !field.value.trim()) || after(fields.at(-1));
  return set(free, value);
}

function after(field) {
  const copy = field.cloneNode();
  copy.value = "";
  field.after(copy);
  return copy;
}

export function writePassed(step, how) {
  if (!step) return;
  step.dataset.passed = how;
  for (const button of all(".pass button[name]", step)) {
    button.setAttribute("aria-pressed", String(Boolean(how) && button.value === how));
  }
}

/* ---- pins: a row of fields each */

export const pinRow = (id) => fieldsNamed(`pins.${id}.kind`)[0]?.closest(".pin");

function writePin(step, id, value) {
  const row = pinRow(id);
  if (!value) return row?.remove();
  const pin = readPin(value), own = row || addPin(step, id);
  for (const name of OF_PIN) set(own.querySelector(`[name="pins.${CSS.escape(id)}.${name}"]`), pin[name] ?? "");
}

function readPin(value) {
  try {
    return JSON.parse(value);
  } catch {
    return {};
  }
}

/** A row for a pin: the blank one with its id in every name. */
export function addPin(step, id = uuid7()) {
  const copy = step.querySelector("fieldset > template").content.cloneNode(true);
  for (const element of all("[name], [id], [for]", copy)) {
    for (const name of ["name", "id", "for"]) {
      if (element.hasAttribute(name)) element.setAttribute(name, element.getAttribute(name).replace(".N", `.${id}`));
    }
  }
  const row = copy.querySelector(".pin");
  step.querySelector(".pinned").append(row);
  return row;
}

/** Is this part under the hand: a field being typed in, or an open sheet over it? */
export function underHand(part) {
  const { activeElement: active } = document;
  if (part.startsWith("pins/")) return Boolean(pinRow(part.slice("pins/".length))?.querySelector("dialog[open]"));
  if (active?.dataset.part === part) return true;
  if (!active?.name || active.form !== form || ticks(active)) return false;
  const same = fieldsNamed(active.name);
  return partOf(active, same.indexOf(active)) === part;
}
