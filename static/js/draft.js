/** The form as something to keep, and back: what a step would send, and a ticket's whole form as a draft. */
import { all, answers, fieldsOf } from "./dom.js";

/** A step's fields as the server wants them: its own names, the revision it started from, how it was passed. */
export function pairsOf(step) {
  const pairs = [];
  for (const field of fieldsOf(step)) {
    if (["radio", "checkbox"].includes(field.type) && !field.checked) continue;
    pairs.push([field.name === `based_on.${step.id}` ? "based_on" : field.name, field.value]);
  }
  pairs.push(["passed", step.dataset.passed || ""]);
  return pairs;
}

/** Everything that this ticket's form holds now. */
export function draftOf(ticket) {
  const steps = all("[data-step]").filter((step) => step.id !== "quote");
  const family = document.querySelector("[name=family]:checked");
  return {
    ticket,
    title: document.getElementById("title").value,
    name: answers("customer_name")[0] || "",
    family: family?.closest("label").textContent.trim() || "",
    changed: Date.now(),
    steps: Object.fromEntries(steps.map((step) => [step.id, pairsOf(step)])),
  };
}

/** Put kept pairs back into a step, in place of what stands there. Before the maps are drawn over the fields. */
export function refill(step, pairs) {
  const given = Map.groupBy ? Map.groupBy(pairs, ([name]) => name) : grouped(pairs);
  const take = (name) => given.get(name)?.shift()?.[1];
  pass(step, take("passed") || "");
  rows(step, [...given.keys()]);
  for (const field of fieldsOf(step)) {
    if (field.name === `based_on.${step.id}`) field.value = take("based_on") || field.value;
    else if (["radio", "checkbox"].includes(field.type)) {
      field.checked = (given.get(field.name) || []).some(([, value]) => value === field.value);
    } else field.value = take(field.name) ?? "";
  }
  more(step, given);
}

function grouped(pairs) {
  const groups = new Map();
  for (const pair of pairs) groups.set(pair[0], [...(groups.get(pair[0]) || []), pair]);
  return groups;
}

function pass(step, how) {
  step.dataset.passed = how;
  for (const button of all(".pass button[name]", step)) {
    button.setAttribute("aria-pressed", String(Boolean(how) && button.value === how));
  }
}

/** One row of fields for each numbered place that was kept. */
function rows(step, names) {
  const list = step.querySelector(".pinned"), blank = step.querySelector("fieldset > template");
  if (!list || !blank) return;
  const stem = blank.content.querySelector("[name]").name.split(".")[0];
  const numbers = new Set(names.filter((name) => name.startsWith(`${stem}.`)).map((name) => name.split(".")[1]));
  list.replaceChildren(...[...numbers].map((number) => numbered(blank, number)));
}

/** The blank row with its number in every name. */
export function numbered(blank, number) {
  const copy = blank.content.cloneNode(true);
  for (const element of all("[name], [id], [for]", copy)) {
    for (const name of ["name", "id", "for"]) {
      if (element.hasAttribute(name)) element.setAttribute(name, element.getAttribute(name).replace(".N", `.${number}`));
    }
  }
  return copy.querySelector(".pin");
}

/** Text values for which the form has no field yet: a list that had grown. */
function more(step, given) {
  for (const [name, left] of given) {
    const last = all(`input[name="${CSS.escape(name)}"]`, step).at(-1);
    if (!last || ["radio", "checkbox"].includes(last.type)) continue;
    for (const [, value] of left.splice(0)) {
      const field = last.cloneNode();
      field.value = value;
      last.after(field);
    }
  }
}
