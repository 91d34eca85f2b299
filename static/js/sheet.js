/** A sheet that comes up at the thumb: a modal dialog with what is asked, and Done. */
import { make, word } from "./dom.js";

/** A button of a row that is either on or off. */
export function toggle(label, on, act) {
  const button = make("button", { type: "button", "aria-pressed": String(on) }, label);
  button.addEventListener("click", () => act(button));
  return button;
}

/** The dialog around `content`; `low` buttons stand left of Done. A tap beside it, Escape and Done close it. */
export function sheet(title, content, ...low) {
  const finish = make("button", { type: "button", class: "btn go" }, word("finish"));
  const heading = make("h2", { tabindex: "-1" }, title);
  const dialog = make(
    "dialog",
    { "aria-label": title },
    make("div", { class: "top" }, heading),
    content,
    make("div", { class: "low" }, ...low, finish),
  );
  content.classList.add("sheet");
  finish.addEventListener("click", () => dialog.close());
  dialog.addEventListener("click", (event) => event.target === dialog && dialog.close());
  return dialog;
}

/** Name the dialog anew and open it. */
export function open(dialog, title) {
  dialog.querySelector("h2").textContent = title;
  dialog.setAttribute("aria-label", title);
  if (!dialog.open) dialog.showModal();
}

/** Buttons in place of a select: the select stays the field that posts. */
export function buttonsFor(select) {
  const label = select.dataset.label, wrapper = select.closest("label");
  const row = make("div", { class: "row", role: "group", "aria-label": label });
  const show = () => {
    for (const button of row.children) button.setAttribute("aria-pressed", String(button.value === select.value));
  };
  for (const option of [...select.options].filter((one) => one.value)) {
    const button = make("button", { type: "button", value: option.value }, option.text);
    button.addEventListener("click", () => {
      select.value = select.value === option.value ? "" : option.value;
      select.dispatchEvent(new Event("change", { bubbles: true }));
    });
    row.append(button);
  }
  for (const kind of ["change", "shown"]) select.addEventListener(kind, show);
  select.hidden = true;
  const block = make("div", { class: "one" }, make("h3", {}, label), row, select);
  wrapper.replaceWith(block);
  show();
  return block;
}
