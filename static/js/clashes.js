/** Two hands gave one part differently: what they gave stands side by side, and a person chooses. */
import { all, make, word } from "./dom.js";
import { choose } from "./shown.js";

/** A press on one of the values is the choice; it names all that were shown. */
export function take(button) {
  const box = button.closest("[data-part]");
  choose(box.dataset.part, button.dataset.value, all("[data-id]", box).map((one) => one.dataset.id));
  box.remove();
}

const labelOf = (part) => {
  const [id, member] = part.split("/");
  const question = document.querySelector(`[data-q="${CSS.escape(id)}"]`);
  const label = question?.querySelector("legend, label")?.firstChild.textContent.trim() || id;
  return member && !id.startsWith("pins") ? `${label} · ${member}` : label;
};

/** A clash that an answer told of and that the page does not show yet; one that is over goes. */
export function show({ step, part, clash }) {
  const found = step?.querySelector(".found");
  if (!found) return;
  const old = all(".clash[data-part]", found).find((one) => one.dataset.part === part);
  if (!clash?.length) return old?.remove();
  if (old && all("[data-id]", old).length === clash.length) return;
  const values = clash.map(({ id, value, who, phone, when }) => make(
    "button",
    { type: "button", class: "btn", name: "choose", value: `${part}=${id}`, "data-id": id, "data-value": value },
    make("b", {}, value || "–"),
    make("small", {}, [[who, phone].filter(Boolean).join(", "), when && new Date(when).toLocaleTimeString([], { timeStyle: "short" })].filter(Boolean).join(" · ")),
  ));
  const box = make("fieldset", { class: "clash card", "data-part": part }, make("legend", {}, labelOf(part)), make("p", { role: "alert" }, word("choose")), ...values);
  old ? old.replaceWith(box) : found.prepend(box);
}
