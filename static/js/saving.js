/** What a hand enters is written down at once and sent after a moment; the foot says what the shop has and what waits. */
import { ready, send } from "./adaptor.js";
import { loose, trouble } from "./database.js";
import { all, counted, word } from "./dom.js";
import * as edits from "./edits.js";
import { fetched } from "./fetched.js";
import * as outbox from "./outbox.js";
import { caughtUp, layOver, note, page, setAside, unwritten } from "./shown.js";
import { ticketId } from "./ticket.js";

const PAUSE = 900; // ms of quiet after a change
const STROKES = 150; // ms of quiet after a keystroke, before the phone writes it down

const typing = new Set(); // steps with keystrokes that no edit holds yet
let began = false; // has this page anything to say of the shop?
let running = 0;
let owes = false; // something waits since the last look
let timer = 0, strokes = 0, telling = 0;

function say(name, text = word(name)) {
  const place = document.getElementById("saved");
  if (place.textContent !== text) place.textContent = text;
  place.dataset.state = name;
}

const why = () => {
  if (trouble === "full") return "full";
  if (["signin", "revoked"].includes(outbox.status)) return outbox.status;
  return "unsaved";
};

/** "Saved" is said when the shop has everything of this ticket, photos too; else how much waits, and why. */
async function sayFoot() {
  const waits = await edits.pending(ticketId());
  const memory = await loose(), left = waits.edits.length + waits.photos.length, reason = why();
  owes = left > 0;
  if (left || unwritten()) began = true;
  if (reason === "revoked" || (left && outbox.status && localStorage["withdrawn at"])) fetched("lasting").then((lasting) => lasting.inTicket(), () => {});
  const link = document.getElementById("signin");
  link.hidden = !(left && reason === "signin");
  link.target = memory ? "_blank" : ""; // what the phone cannot keep stays on this page
  if (!began) return;
  if (left) sayWaits(waits, memory, reason);
  else if (unwritten()) say("typing");
  else if (all(".clash").length) say("clash");
  else say(all(".problem").some((problem) => problem.textContent.trim()) ? "refused" : "saved");
}

function sayWaits(waits, memory, reason) {
  const stands = [...waits.edits, ...waits.photos].find((one) => one.state === "refused");
  if (memory && trouble) return say(trouble === "full" ? "full" : "unkept");
  if (!outbox.status && !stands) return say(running || waits.photos.length ? "saving" : "typing");
  return say(reason, `${counted([...waits.edits, ...waits.photos])} ${word("onPhone")}. ${stands ? saysWhy(stands) : word(reason)}`);
}

/** What the shop said of an answer or photo that it did not take. */
const saysWhy = ({ why: sentence }) => (sentence ? `${word("notTaken")} ${sentence}` : word("stands"));

function tellSoon() {
  clearTimeout(telling);
  telling = setTimeout(sayFoot, 60);
}

/** Make edits of all that no edit holds yet. */
function writeDown() {
  clearTimeout(strokes);
  for (const step of typing) {
    typing.delete(step);
    note(step);
  }
}

/** Something changed in this step: write it down, and send it after a moment of quiet. Returns what changed. */
export function later(step, isTyping = false) {
  typing.add(step);
  let changed = [];
  clearTimeout(strokes);
  if (isTyping) strokes = setTimeout(writeDown, STROKES);
  else {
    typing.delete(step);
    changed = note(step);
  }
  if (isTyping || changed.length) {
    began = true;
    ready().catch(() => {}); // sending says so if it is still not there
    if (!owes) say("typing"); // what was said of the last save no longer holds
    tellSoon();
    clearTimeout(timer);
    timer = setTimeout(push, PAUSE);
  }
  return changed;
}

/** Write this step down as given by `how`, and send what waits. Returns what changed. */
export function now(step, how) {
  writeDown();
  const changed = step ? note(step, how) : [];
  push();
  return changed;
}

/** Send this ticket's edits and show what comes back. Resolves to true once none waits. */
async function push() {
  clearTimeout(timer);
  running += 1;
  tellSoon();
  try {
    const sent = await outbox.sendEdits(ticketId(), { post: send, page: () => ({ ...page }) });
    if (sent) sendPhotosToo();
    return sent;
  } finally {
    running -= 1;
    tellSoon();
  }
}

/** Where answers arrive photos may too: they need not wait for their next try. */
async function sendPhotosToo() {
  const { photos } = await edits.pending(ticketId());
  if (photos.some(({ state }) => state === "waiting")) outbox.drain(ticketId()).catch(() => {});
}

/** Resolves to true when every answer given is with the shop, to false when a try failed. */
export async function flushed() {
  writeDown();
  const sent = await push();
  const { edits: left } = await edits.pending(ticketId());
  return sent && !left.some((edit) => edit.state === "waiting");
}

document.addEventListener("kept:changed", ({ detail }) => {
  if (detail?.elsewhere && detail.ticket === ticketId()) layOver();
  tellSoon();
});
document.addEventListener("step:kept", tellSoon);
document.addEventListener("photo:kept", tellSoon);
document.addEventListener("focusout", () => setTimeout(layOver));
document.addEventListener("entry:sent", async ({ detail: { ticket, outcome, result, batch } }) => {
  if (ticket === ticketId()) began = true;
  tellSoon();
  if (ticket !== ticketId() || !result) return;
  for (const edit of batch) if (result.edits.some(({ id, fate }) => id === edit.id && fate === "refused")) setAside(edit);
  if (outcome === "stored") await caughtUp(result);
});

/** This ticket's edits through htmx, so that what was found is shown; then whatever else the phone holds. */
export const begin = () => outbox.keepTrying(async () => {
  writeDown();
  const sent = await push();
  return (await outbox.drain(ticketId())) && sent;
});

document.addEventListener("visibilitychange", () => document.visibilityState === "hidden" && writeDown());
window.addEventListener("pagehide", writeDown);
window.addEventListener("beforeunload", (event) => (unwritten() || (trouble && owes)) && event.preventDefault());
