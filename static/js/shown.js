/** What this page shows of each part, and which edit that is: the base of what the hand does next. */
import { all, answers } from "./dom.js";
import { hasOld, loose } from "./database.js";
import * as edits from "./edits.js";
import { fetched } from "./fetched.js";
import { readStep, stepOf, underHand, writePart } from "./parts.js";
import { standsIn, ticketId } from "./ticket.js";
import { uuid7 } from "./uuid.js";

const form = document.getElementById("wizard");
const steps = all("[data-step]").filter((step) => step.id !== "quote");
const blank = { base: "", value: "", by: "hand", at: 0 };
const shown = new Map(); // part → {base, value, by, at}: as the page shows it; `at` the version, 0 for the page's own
const writing = new Map(); // part → how many of its edits the phone is writing down

/** The state of the shop that this page was rendered at. */
export const page = { epoch: form.dataset.epoch || "", version: Number(form.dataset.version) || 0 };

const stateOf = (part) => shown.get(part) || blank;
export const byOf = (part) => stateOf(part).by;

function readPage() {
  for (const field of all('[name^="base."]', form)) {
    shown.set(field.name.slice("base.".length), { base: field.value, value: "", by: field.dataset.by || "hand", at: 0 });
  }
  for (const step of steps) {
    for (const [part, value] of readStep(step)) if (value) shown.set(part, { by: "hand", at: 0, base: "", ...shown.get(part), value });
  }
}

/** What a hand has changed in a step since it was last asked. */
export function changes(step) {
  const found = readStep(step);
  for (const [part, { value }] of shown) if (value && !found.has(part) && stepOf(part) === step && isList(part)) found.set(part, "");
  return [...found].filter(([part, value]) => value !== stateOf(part).value).map(([part, value]) => ({ part, value, before: stateOf(part) }));
}

/** Parts that are gone from the page once they are blank: pins, and what stands in a list. */
const isList = (part) => /^(pins|buzz_at)\//.test(part) || kindOf(part) === "string_frets";
const kindOf = (part) => document.querySelector(`[data-q="${CSS.escape(part.split("/")[0])}"]`)?.dataset.kind;

/** Is there a change that no edit holds yet, or one that the phone is still writing down? */
export const unwritten = () => writing.size > 0 || steps.some((step) => changes(step).length);

/**
 * Make edits of what changed in a step and write them down. `by` and `act` say who gave it; how a step was passed is
 * always a hand's. Returns what changed; `kept` on the document tells when the phone has it.
 */
export function note(step, { by = "hand", act = "" } = {}) {
  const changed = changes(step);
  if (changed.length) write(changed.map(({ part, value, before }) => ({
    id: uuid7(), part, value, base: before.base, act, by: part.startsWith("passed.") ? "hand" : by,
  })), step);
  return changed;
}

/** A person chose between the values of a clash: `bases` are all that were shown. */
export function choose(part, value, bases) {
  const step = stepOf(part);
  if (step) writePart(part, value, step);
  write([{ id: uuid7(), part, value, base: bases.join(" "), act: "", by: "hand" }], step || form);
}

/** A photo is its own edit: it stands from the moment it is taken. Returns what this page shows of it. */
export function photoTaken(id) {
  const part = `photos/${id}`;
  if (!shown.has(part)) shown.set(part, { base: id, value: "there", by: "hand", at: 0 });
  return stateOf(part).value;
}

function write(made, at) {
  for (const { id, part, value, by } of made) {
    shown.set(part, { ...stateOf(part), base: id, value, by });
    writing.set(part, (writing.get(part) || 0) + 1);
  }
  edits.add(ticketId(), made, draft()).finally(async () => {
    for (const { part } of made) writing.get(part) > 1 ? writing.set(part, writing.get(part) - 1) : writing.delete(part);
    at.dispatchEvent(new CustomEvent("step:kept", { bubbles: true, detail: { loose: await loose() } }));
  });
}

/** This page as it is to be opened again without a line. */
function draft() {
  const family = document.querySelector("[name=family]:checked");
  return {
    ticket: ticketId(),
    ...page,
    title: document.getElementById("title").value,
    name: answers("customer_name")[0] || "",
    family: family?.closest("label").querySelector("span").textContent || "",
    parts: Object.fromEntries([...shown].map(([part, { base, value, by }]) => [part, { base, value, by }])),
  };
}

/* ---- laying over */

/** What the phone knows of each part that is newer than this page: answers first, unsent edits on top of them. */
function newer({ edits: held, known }) {
  const found = new Map();
  for (const { part, base, value, at, by, clash } of known) {
    if (at > (stateOf(part).at || page.version)) found.set(part, { base, value, at, by, clash });
  }
  for (const { part, id, value, by, state } of held) {
    if (state === "waiting") found.set(part, { base: id, value, by, at: stateOf(part).at });
  }
  return found;
}

/** Lay one part over. False while the hand is on it: it comes when the hand has left. */
function lay(part, state) {
  const now = stateOf(part);
  if (state.base === now.base && state.value === now.value) return true;
  const step = stepOf(part);
  if (writing.has(part) || underHand(part) || (step && changes(step).some((one) => one.part === part))) return false;
  if (!isOwnLoser(now, state)) {
    writePart(part, state.value, step);
    shown.set(part, state);
  }
  document.dispatchEvent(new CustomEvent("part:laid", { detail: { step, part, clash: state.clash } }));
  return true;
}

/** This page's value is one of a clash: it stays in sight, and what is typed next takes its place. */
const isOwnLoser = (now, { clash }) => Boolean(clash?.length) && clash.some(({ id, value }) => id === now.base && value === now.value);

/** Everything that is newer than this page. Resolves to the parts that changed. */
export async function layOver() {
  const found = newer(await edits.of(ticketId()));
  const changed = [...found].filter(([part, state]) => stateOf(part).base !== state.base || stateOf(part).value !== state.value);
  const laid = changed.filter(([part, state]) => lay(part, state));
  for (const step of new Set(laid.map(([part]) => stepOf(part)).filter(Boolean))) {
    step.dispatchEvent(new CustomEvent("step:shown-anew", { bubbles: true }));
  }
  return { laid: laid.length, left: changed.length - laid.length };
}

/** An answer came for everything that changed since this page's version: the page is as new as that, but for what is under the hand. */
export async function caughtUp({ epoch, version }) {
  const { left } = await layOver();
  if (!left) Object.assign(page, { epoch, version: Math.max(version, epoch === page.epoch ? page.version : 0) });
}

/** An edit that was set aside: what the hand does next starts from what stood before it. */
export function setAside({ id, part, base }) {
  if (stateOf(part).base === id) shown.set(part, { ...stateOf(part), base });
}

/**
 * On opening: the page, a draft of it where the blank one stands in, and whatever is newer. Resolves to false where the
 * page cannot show this ticket: no line, and not on this phone.
 */
export async function open() {
  readPage();
  const held = await edits.of(ticketId());
  if (standsIn) {
    if (!held.draft && !held.edits.length && !(await hasOld())) return false;
    fromDraft(held.draft);
  }
  if (await hasOld()) await layOldOver();
  await edits.sawEpoch(page.epoch);
  await layOver();
  edits.holdPage(page.version);
  return true;
}

/** Whole steps that an earlier version left here are in sight, and on their way as they were. */
async function layOldOver() {
  const { stepsOf } = await fetched("old-entries");
  for (const [part, value] of await stepsOf(ticketId(), standsIn, kindOf)) {
    writePart(part, value);
    shown.set(part, { ...stateOf(part), value });
  }
}

function fromDraft(draft) {
  if (!draft) return;
  Object.assign(page, { epoch: draft.epoch, version: draft.version });
  document.getElementById("title").value = draft.title;
  for (const [part, { base, value, by }] of Object.entries(draft.parts)) {
    writePart(part, value);
    shown.set(part, { base, value, by, at: 0 });
  }
}
