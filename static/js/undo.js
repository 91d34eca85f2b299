/** Taking an answer back is a deliberate second tap, and for a while it can be undone. */
import { all, word } from "./dom.js";
import { writePart } from "./parts.js";
import { now } from "./saving.js";
import { uuid7 } from "./uuid.js";

const OFFERED = 12000; // ms
const bar = document.getElementById("undo");
const button = bar.querySelector("button");
let undo, timer;

export function offerUndo(step, taken) {
  clearTimeout(timer);
  bar.hidden = !taken.length;
  if (!taken.length) return;
  const [{ part, before }] = taken;
  bar.querySelector("span").textContent = `${word("takenBack")} ${shownAs(step, part, before.value)}`;
  undo = () => {
    const by = taken.some(({ before: { by } }) => by === "sound") ? "sound" : "hand";
    for (const one of taken) writePart(one.part, one.before.value, step);
    now(step, { by, act: by === "sound" ? uuid7() : "" });
    step.dispatchEvent(new CustomEvent("step:shown-anew", { bubbles: true }));
  };
  timer = setTimeout(() => (bar.hidden = true), OFFERED);
}

/** A choice in its own words, a value as it was. */
function shownAs(step, part, value) {
  const [id, member] = part.split("/");
  if (part.startsWith("passed.")) return step.querySelector(`.pass [value="${value}"]`)?.textContent || "";
  const choice = all(`[name="${CSS.escape(id)}"], [name="${CSS.escape(part.replace("/", "."))}"]`, step)
    .find((field) => ["radio", "checkbox"].includes(field.type) && field.value === (value === "yes" && member ? member : value));
  if (part.startsWith("pins/")) return word("place");
  if (part.startsWith("photos/")) return word("photo");
  return choice?.closest("label").querySelector("span").textContent || value;
}

button.addEventListener("click", () => {
  clearTimeout(timer);
  bar.hidden = true;
  undo();
});
