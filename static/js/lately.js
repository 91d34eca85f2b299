/** What this phone answered last is offered first. Nothing of a customer: only which choice of the book it was. */
import { all, answers } from "./dom.js";

const PLACE = "answered lately";
const ENOUGH = 4; // so few stand in one glance; their order stays the book's

const read = () => {
  try {
    return JSON.parse(localStorage.getItem(PLACE)) || {};
  } catch {
    return {};
  }
};

/** Groups of one answer out of many. Judgements of state keep the book's order: none is to be suggested. */
const groups = (step) => all("fieldset[data-q]:not([data-sound]) > .choices", step)
  .filter((group) => group.children.length > ENOUGH && group.querySelector("[type=radio]"));

const nameOf = (group) => `${group.parentNode.dataset.q}/${group.parentNode.dataset.q === "family" ? "" : answers("family")[0] || ""}`;

/** A step was saved: its choices are the last ones, for instruments of this family. */
export function rememberLately(step) {
  const lately = read();
  for (const group of groups(step)) {
    const chosen = group.querySelector(":checked");
    if (chosen) lately[nameOf(group)] = chosen.value;
  }
  try {
    localStorage.setItem(PLACE, JSON.stringify(lately));
  } catch { /* no room: the book's order will do */ }
}

/** Put the last answer of each group first. Only where nothing is filled in yet: nothing moves under a thumb. */
export function offerLately(step) {
  const lately = read();
  for (const group of groups(step)) {
    const last = group.querySelector(`[value="${CSS.escape(lately[nameOf(group)] || "")}"]`)?.closest("label");
    if (last && last !== group.firstElementChild) group.prepend(last);
  }
}
