/** What is not with the shop yet, as one list: answers, photos, and whole steps that an earlier version left here. */
import { pending } from "./edits.js";
import * as held from "./held.js";
import * as old from "./old-entries.js";

const asOne = (entry) => ({ ...entry, old: true, made: entry.changed ?? entry.created, part: entry.kind === "step" && entry.step });

/** Entries {ticket, made, state, why, part} (a photo has no part), and the drafts of their tickets. */
export async function all() {
  const now = await pending();
  return {
    entries: [...now.edits, ...now.photos, ...(await old.all()).map(asOne)],
    drafts: [...now.drafts, ...(await old.drafts())],
  };
}

const oldRefused = async (ticket) => (await old.of(ticket)).filter((entry) => entry.state === "refused");

/** What was refused of a ticket is to go again. */
export async function again(ticket) {
  await held.again(ticket);
  for (const { key } of await oldRefused(ticket)) await old.mark(key, { state: "waiting", why: "" });
}

export async function throwAway(ticket) {
  await held.throwAway(ticket);
  for (const { key } of await oldRefused(ticket)) await old.drop(key);
}

/** Everything on this phone, whatever the shop has of it. */
export const wipe = () => Promise.all([held.wipe(), old.wipe()]);

/** These entries, and nothing else. */
export async function drop(entries) {
  for (const { key } of entries.filter((one) => one.old)) await old.drop(key);
  await held.drop(entries.filter((one) => !one.old));
}

/** It was said that they are old. */
export async function markWarned(entries) {
  const warned = Date.now();
  for (const { key } of entries.filter((one) => one.old)) await old.mark(key, { warned });
  await held.mark(entries.filter((one) => !one.old), { warned });
}
