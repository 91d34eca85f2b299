/**
 * How long the phone keeps what did not arrive, and that nothing of it goes without a word: the board names the
 * day beforehand, and afterwards what went. A withdrawn phone has an hour in which to take it off as a file.
 */
import { counted, word } from "./dom.js";
import * as store from "./store.js";

const HOUR = 3600 * 1000, DAY = 24 * HOUR;
const OLD = 7 * DAY; // from here on the board says so
const LONGEST = 30 * DAY; // since the last change of an entry …
const NOTICE = 3 * DAY; // … and never sooner after the board first said so
const LOOK = 20 * 1000;
const WITHDRAWN = "withdrawn at", WIPED = "wiped";

const age = (entry) => Date.now() - (entry.changed ?? entry.created);
const endOf = (entry) => Math.max((entry.changed ?? entry.created) + LONGEST, (entry.warned || Date.now()) + NOTICE);

/** The server said that this phone is withdrawn: from the first time on its hour runs. */
export function withdrawn() {
  if (!localStorage.getItem(WITHDRAWN)) localStorage.setItem(WITHDRAWN, Date.now());
}

let leaving = 0;

/** In a ticket of a withdrawn phone that is left open: after the hour to the board, which wipes and says what went. */
export function inTicket() {
  withdrawn();
  if (leaving) return;
  follow();
  leaving = setInterval(() => isOver() && location.replace(document.querySelector(".home").href), LOOK);
}

const isOver = () => wipedAt() && Date.now() >= wipedAt();

/** The server says that this phone is withdrawn; `enrolled` of outbox.js takes the mark away again. */
function follow() {
  document.addEventListener("entry:sent", ({ detail }) => {
    if (detail.outcome === "revoked") withdrawn();
  });
}

/** When a withdrawn phone is wiped (ms), else 0. */
export function wipedAt() {
  const told = Number(localStorage.getItem(WITHDRAWN));
  return told && told + HOUR;
}

/** What to say of old entries, which are told apart from now on; empty where none is old. */
export function warn(entries) {
  const old = entries.filter((entry) => age(entry) > OLD);
  if (!old.length) return "";
  if (document.visibilityState === "visible") {
    for (const { key } of old.filter((entry) => !entry.warned)) store.mark(key, { warned: Date.now() });
  }
  return word("old").replace("{date}", new Date(Math.min(...old.map(endOf))).toLocaleDateString());
}

/** Wipe what is due, and write down how much it was. */
async function wipeDue() {
  const entries = await store.all();
  const all = isOver();
  const due = all ? entries : entries.filter((entry) => entry.warned && Date.now() >= endOf(entry));
  if (due.length) {
    localStorage.setItem(WIPED, JSON.stringify({ at: Date.now(), why: all ? "wipedWithdrawn" : "wipedOld", what: counted(due) }));
    if (all) await store.wipe();
    else for (const { key } of due) await store.drop(key);
  }
  showWiped();
}

function showWiped() {
  const place = document.getElementById("wiped"), gone = JSON.parse(localStorage.getItem(WIPED) || "null");
  place.hidden = !gone;
  if (gone) place.querySelector("span").textContent = word(gone.why).replace("{what}", gone.what).replace("{time}", new Date(gone.at).toLocaleString());
}

/** Look now and then, as long as the board is open. */
export function watch() {
  document.querySelector("#wiped button").addEventListener("click", () => {
    localStorage.removeItem(WIPED);
    showWiped();
  });
  follow();
  const look = () => wipeDue().catch(() => {});
  setInterval(look, LOOK);
  return look();
}
