/** Gauge values in one tap: a row of buttons made from the suggestions (datalist) of a text field. */
import { all, fill, make } from "./dom.js";

const FRACTION = /^(-?)(?:(\d+)\s+)?([\d.]+)\/(\d+)\s*in$/;
const DECIMAL = /^(-?[\d.]+)\s*(in|mm|cm)$/;
const PER_INCH = { in: 1, mm: 25.4, cm: 2.54 };

/** Inches of a value as the book writes it, else NaN. */
export function inches(text) {
  const fraction = FRACTION.exec(text);
  if (fraction) {
    const [, sign, whole, over, under] = fraction;
    return (sign ? -1 : 1) * (Number(whole || 0) + Number(over) / Number(under));
  }
  const [, size, unit] = DECIMAL.exec(text) ?? [];
  return unit ? Number(size) / PER_INCH[unit] : NaN;
}

function metric(text) {
  const size = text.endsWith("in") ? inches(text) : 0;
  if (!size) return "";
  const millimetres = size * 25.4;
  return millimetres.toFixed(Math.abs(millimetres) < 1 ? 2 : 1);
}

function mark(input, row) {
  const typed = input.value.replace(/\s+/g, "");
  for (const button of row.children) {
    button.setAttribute("aria-pressed", String(button.value.replace(/\s+/g, "") === typed));
  }
}

function values(input) {
  const unit = ` ${input.dataset.unit || "in"}`;
  return [...input.list.options].map((option) => {
    const shown = option.value.endsWith(unit) ? option.value.slice(0, -unit.length) : option.value;
    const button = make("button", { type: "button", value: option.value }, shown);
    const below = metric(option.value);
    if (below) button.append(make("small", {}, below));
    button.addEventListener("click", () => {
      fill(input, button.getAttribute("aria-pressed") === "true" ? "" : option.value);
      mark(input, button.parentNode);
    });
    return button;
  });
}

/** Put a row of the field's values after it; a second tap on a value takes it back. */
export function ruled(input) {
  if (!input.list || input.nextElementSibling?.className === "rule") return;
  const names = input.dataset.label || input.labels?.[0]?.textContent || input.name;
  const row = make("div", { class: "rule", role: "group", "aria-label": names }, ...values(input));
  input.removeAttribute("list"); // the browser's own list would open over the row
  input.after(row);
  input.parentNode.classList.add("ruled");
  input.classList.add("own");
  input.placeholder = input.dataset.own || "";
  input.addEventListener("input", () => mark(input, row));
  for (const kind of ["change", "shown"]) input.addEventListener(kind, () => mark(input, row));
  mark(input, row);
}

/** Foot in green under the values that this player's target holds. No row moves for it: a finger may be near. */
export function markTargets(root = document) {
  for (const target of all("#targets data")) {
    const row = document.getElementById(`a-${target.dataset.for}`)?.nextElementSibling;
    if (row?.className !== "rule") continue;
    const [low, high] = target.value.split(" ").map(Number);
    for (const button of row.children) {
      const size = inches(button.value);
      button.classList.toggle("ok", size >= low - 1e-6 && size <= high + 1e-6);
    }
  }
}

const touched = new WeakSet(); // rows that a hand has moved or pressed: they never move by themselves again
for (const kind of ["pointerdown", "wheel", "keydown"]) {
  document.addEventListener(kind, ({ target }) => {
    const row = target.closest?.(".rule");
    if (row) touched.add(row);
  }, { capture: true, passive: true });
}

/** As a row comes up: scroll it sideways so that the chosen value, else the target, stands in sight. */
export function bringIn(row) {
  if (touched.has(row)) return;
  const one = row.querySelector('[aria-pressed="true"]') || row.querySelector(".ok");
  if (one && row.clientWidth) row.scrollLeft = one.offsetLeft - (row.clientWidth - one.offsetWidth) / 2;
}
