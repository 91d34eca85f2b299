/** Steps save themselves: kept on the phone at once, sent after a change, on moving on, and until the server has said yes. */
import { isStored, keep, trigger } from "./adaptor.js";
import { counted, word } from "./dom.js";
import * as outbox from "./outbox.js";
import * as store from "./store.js";
import { ticketId } from "./ticket.js";

const PAUSE = 900; // ms of quiet after a change
const STROKES = 150; // ms of quiet after a keystroke, before the phone writes it down

const waiting = new Set(); // ids of steps that hold something unsent, in the order of their change
const unkept = new Set(); // those of them that the phone has not written down yet
let running = "";
let touched = false;
let timer = 0;
let strokes = 0;
let telling = 0;
let writing = 0; // writes to the phone under way
let settled = [];
let full = false;
let signedOut = false; // as the server said of the last save

function say(name, text = word(name)) {
  const place = document.getElementById("saved");
  if (place.textContent !== text) place.textContent = text;
  place.dataset.state = name;
  const link = document.getElementById("signin");
  link.hidden = name !== "signin" && !(signedOut && waiting.size);
  link.target = full ? "_blank" : ""; // what the phone cannot keep stays on this page
}

const shown = () => document.getElementById("saved").dataset.state;

/** What stays here is named: how much it is, and why. */
async function sayKept() {
  if (full) return say("full");
  const mine = await store.of(ticketId()).catch(() => []);
  const why = ["signin", "revoked"].includes(outbox.status) ? outbox.status : "unsaved";
  if (why === "revoked" || localStorage["withdrawn at"]) import("./lasting.js").then((lasting) => lasting.inTicket(), () => {});
  const stands = mine.some((one) => one.state === "refused");
  if (mine.length) say(why, `${counted(mine)} ${word("onPhone")}. ${word(stands ? "stands" : why)}`);
  else if (waiting.size) say("unsaved");
  else if (shown() === "unsaved") say("saved");
}

function settle(kept) {
  for (const resolve of settled.splice(0)) resolve(kept);
}

function pump() {
  clearTimeout(timer);
  if (running) return;
  const [next] = waiting;
  if (!next) return settle(true);
  running = next;
  touched = false;
  if (!outbox.status) say("saving");
  trigger(document.getElementById(next), "save");
}

/** Write to the phone what is not written yet; what changes meanwhile is written anew. */
function writeDown() {
  clearTimeout(strokes);
  for (const id of unkept) {
    unkept.delete(id);
    writing += 1;
    keep(document.getElementById(id)).finally(() => (writing -= 1));
  }
}

/** Something changed in this step: keep it, and send it after a moment of quiet. */
export function later(step, typing = false) {
  mark(step);
  if (typing) {
    clearTimeout(strokes);
    strokes = setTimeout(writeDown, STROKES);
  } else writeDown();
  clearTimeout(timer);
  timer = setTimeout(pump, PAUSE);
}

/** A step that was kept before this page was loaded. */
export function owed(step) {
  waiting.add(step.id);
}

function mark(step) {
  if (!waiting.has(step.id) && isStored(step)) return;
  if (!waiting.size && !running) say("typing"); // what was said of the last save no longer holds
  waiting.add(step.id);
  unkept.add(step.id);
  if (running === step.id) touched = true; // changed while on its way: it goes out once more
}

/** Send this step now, if it holds something unsent or was just passed. */
export function now(step) {
  if (step) mark(step);
  writeDown();
  if (waiting.size) pump();
}

/** Resolves to true when everything typed is with the server, to false when a try failed. */
export function flushed() {
  return new Promise((resolve) => {
    settled.push(resolve);
    writeDown();
    pump();
  });
}

export const unsent = () => waiting.size > 0;

document.addEventListener("step:kept", () => (full = false));
document.addEventListener("kept:changed", () => {
  clearTimeout(telling);
  telling = setTimeout(() => !running && (outbox.status || full || shown() === "unsaved") && sayKept(), 100);
});
document.addEventListener("step:unkept", ({ target, detail }) => {
  if (waiting.has(target.id)) unkept.add(target.id);
  full = detail.full;
  sayKept();
});

document.addEventListener("step:saved", ({ target, detail }) => {
  running = "";
  signedOut = false;
  if (!touched) {
    waiting.delete(target.id);
    unkept.delete(target.id);
  }
  if (!waiting.size) say(detail.status === 200 ? "saved" : detail.status === 412 ? "clash" : "refused");
  pump();
});

document.addEventListener("step:unsaved", ({ detail }) => {
  running = "";
  signedOut = detail.status === 401;
  sayKept();
  settle(false);
});

/** This ticket's words through htmx, so that the answers are shown; then whatever else the phone keeps. */
outbox.keepTrying(async () => {
  if (waiting.size && !(await flushed())) return false;
  return outbox.drain(ticketId());
});

document.addEventListener("visibilitychange", () => document.visibilityState === "hidden" && writeDown());
window.addEventListener("pagehide", writeDown);
window.addEventListener("beforeunload", (event) => (unkept.size || writing) && event.preventDefault());
