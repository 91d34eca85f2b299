/** On opening a ticket: what the phone still keeps of it goes back into the form, and on its way again. */
import { adopt } from "./adaptor.js";
import { refill } from "./draft.js";
import { owed } from "./saving.js";
import * as store from "./store.js";
import { standsIn, ticketId } from "./ticket.js";

/** Fill the steps in. Resolves to false where the page cannot show this ticket: no line, and not on this phone. */
export async function restore(steps) {
  const kept = await read().catch(() => undefined);
  if (standsIn && !kept?.draft) {
    document.getElementById("wizard").hidden = true;
    document.getElementById("absent").hidden = false;
    return false;
  }
  if (!kept) return true;
  if (standsIn) fillWhole(steps, kept.draft);
  for (const step of steps) {
    const last = kept.entries.filter((one) => one.step === step.id).at(-1);
    if (last) owe(step, last);
  }
  return true;
}

async function read() {
  const id = ticketId();
  const [entries, draft] = await Promise.all([store.of(id), store.draft(id)]);
  return { entries, draft };
}

function fillWhole(steps, draft) {
  document.getElementById("title").value = draft.title;
  for (const step of steps) if (draft.steps[step.id]) refill(step, draft.steps[step.id]);
}

function owe(step, { key, pairs, state }) {
  refill(step, pairs);
  if (state === "waiting") adopt(step, key, pairs);
  owed(step);
}
