/**
 * How long the phone keeps what did not arrive, and that nothing of it goes without a word: the board names the
 * day beforehand, and afterwards what went. A withdrawn phone has an hour in which to take it off as a file.
 */
import { counted, word } from "./dom.js";
import { forgetAllStored } from "./held.js";
import * as waiting from "./waiting.js";

const HOUR = 3600 * 1000, DAY = 24 * HOUR;
const OLD = 7 * DAY; // from here on the board says so
const LONGEST = 30 * DAY; // since the last change of an entry …
const NOTICE = 3 * DAY; // … and never sooner after the board first said so
const LOOK = 20 * 1000;
const WITHDRAWN = "withdrawn at", WIPED = "wiped";

const age = (entry) => Date.now() - entry.made;
const endOf = (entry) => Math.max(entry.made + LONGEST, (entry.warned || Date.now()) + NOTICE);

/** The server said that this phone is withdrawn: what the shop has goes at once, for the rest an hour runs. */
export function withdrawn() {
  if (localStorage.getItem(WITHDRAWN)) return;
  localStorage.setItem(WITHDRAWN, Date.now());
  forgetAllStored();
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
    waiting.markWarned(old.filter((entry) => !entry.warned));
  }
  return word("old").replace("{date}", new Date(Math.min(...old.map(endOf))).toLocaleDateString());
}

/** Wipe what is due, and write down how much it was. */
async function wipeDue() {
  const { entries } = await waiting.all();
  const all = isOver();
  const due = all ? entries : entries.filter((entry) => entry.warned && Date.now() >= endOf(entry));
  if (due.length) {
    localStorage.setItem(WIPED, JSON.stringify({ at: Date.now(), why: all ? "wipedWithdrawn" : "wipedOld", what: counted(due) }));
    await (all ? waiting.wipe() : waiting.drop(due));
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
