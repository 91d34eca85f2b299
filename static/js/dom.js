/** The few DOM helpers that the other modules share. */

export const all = (selector, root = document) => [...root.querySelectorAll(selector)];

/** make("button", {type: "button"}, "Back"): attributes, then children. */
export function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== false && value !== undefined) element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children);
  return element;
}

/** Set a field as if a person had: listeners hear it. */
export function fill(input, value) {
  if (input.value === value) return;
  input.value = value;
  input.dispatchEvent(new Event("change", { bubbles: true }));
}

/** The words that modules show, written by the page so that they can be translated. */
export const word = (name) => document.getElementById("words").dataset[name] || "";

/** What is filled in for a question: the values of its fields that hold something. */
export function answers(id, root = document) {
  return all(`[name="${id}"]`, root)
    .filter((field) => !["radio", "checkbox"].includes(field.type) || field.checked)
    .map((field) => field.value.trim())
    .filter(Boolean);
}

/** The fields of a step that post; photos go their own way. */
export const fieldsOf = (root) => all("input[name], select[name], textarea[name]", root)
  .filter((field) => !field.disabled && field.type !== "file");

const some = (n, name) => word(n === 1 ? `${name}One` : `${name}s`).replace("{n}", n);

/** How much waits, in words: "3 answers, 1 photo". An answer is a part, however often it was changed. */
export function counted(entries) {
  const parts = new Set(entries.filter((one) => one.part).map((one) => `${one.ticket} ${one.part}`)).size;
  const photos = entries.filter((one) => !one.part).length;
  return [parts && some(parts, "answer"), photos && some(photos, "photo")].filter(Boolean).join(", ");
}
