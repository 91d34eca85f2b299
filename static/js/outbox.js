/** Sends edits in their order, fifty at a time, then photos. What answers otherwise (a portal, an error) changes nothing. */
import { hasOld } from "./database.js";
import * as edits from "./edits.js";
import { fetched } from "./fetched.js";
import { device, uuid7 } from "./uuid.js";

const PATIENCE = 8000;
const AGAIN = [5, 15, 60, 300]; // s between rounds while something waits
const ROUNDS = 40; // requests of one ticket in a row
const STOP = new Set(["down", "signin", "revoked", "elsewhere"]);
export const { tickets, root } = addresses();

function addresses() {
  const form = document.getElementById("wizard")?.dataset.tickets;
  const root = document.getElementById("kept")?.dataset.root ?? form?.slice(0, -"/tickets/".length) ?? "";
  return { root, tickets: `${root}/tickets/` };
}

/** Where requests leave the page. */
export const line = { fetch: (url, request) => window.fetch(url, request) };

/** Does the server itself answer at its address `ping`? */
export async function answers(ping = `${root}/ping`) {
  const answer = await line.fetch(ping, { cache: "no-store", signal: AbortSignal.timeout(2000) }).catch(() => ({}));
  return answer.status === 204;
}

const chains = {};

/** Run `work` while no other page of this phone sends the same kind; without locks (plain http), no other work here. */
export function alone(kind, work) {
  if (navigator.locks) return navigator.locks.request(`tallyfret-${kind}`, work);
  return (chains[kind] = (chains[kind] || Promise.resolve()).then(work, work));
}

/** stored · refused · again (409) · signin · revoked · erased · elsewhere (a login page or portal) · busy */
export function verdict(answer, key) {
  if (answer.status === 200 && answer.headers.get("Saved-Key") === key) return "stored";
  if (answer.type === "opaqueredirect" || answer.ok) return "elsewhere";
  if (answer.status === 401) return answer.headers.get("Revoked") ? "revoked" : "signin";
  if (answer.status === 410 && answer.headers.get("Erased")) return "erased";
  if (answer.status === 409) return "again";
  return [400, 413, 415].includes(answer.status) ? "refused" : "busy";
}

/** What kept the last request from arriving: "" while things arrive. */
export let status = "";

export function said(outcome, detail) {
  if (outcome === "stored") enrolled();
  status = ["stored", "refused", "erased"].includes(outcome) ? "" : outcome;
  document.dispatchEvent(new CustomEvent("entry:sent", { detail: { outcome, ...detail } }));
}

/** The server takes what this phone sends, or shows it the board: whoever withdrew it has enrolled it again. */
export function enrolled() {
  try {
    localStorage.removeItem("withdrawn at");
  } catch { /* storage refused: no mark either */ }
}

export const headersOf = (key, more = {}) => ({ Device: device(), "Idempotency-Key": key, ...more });

/** The customer was erased: nothing of this ticket stays here. */
export const erased = async (ticket) => (await fetched("held")).wipe(ticket);

/* ---- edits */

/** A form of edits, as the address takes them. */
function bodyOf(batch, page) {
  const body = new URLSearchParams(page);
  batch.forEach((edit, at) => {
    for (const name of ["id", "log", "seq", "part", "value", "base", "by", "act"]) body.append(`edits-${at}-${name}`, edit[name] ?? "");
  });
  return body;
}

const plainly = (url, body, headers) => line.fetch(url, {
  method: "POST", body, headers: { Accept: "application/json", ...headers }, credentials: "same-origin", redirect: "manual", signal: AbortSignal.timeout(PATIENCE),
});

/** What the shop said, from JSON or from the fragments for a page. */
async function resultOf(answer) {
  const text = await answer.text();
  if (answer.headers.get("Content-Type").includes("json")) return JSON.parse(text);
  return JSON.parse(new DOMParser().parseFromString(text, "text/html").getElementById("became").value);
}

/** Send the next edits of a ticket. Resolves to an outcome, "none" where there is nothing to send. */
function sendSome(ticket, { post = plainly, page = {}, most } = {}) {
  return alone("edits", async () => {
    const batch = await edits.take(ticket, most);
    if (!batch.length) return { outcome: "none" };
    const key = uuid7(), askedAt = await edits.version();
    let outcome = "down", result, why = "";
    try {
      const answer = await post(`${tickets}${ticket}/edits`, bodyOf(batch, page), headersOf(key));
      outcome = verdict(answer, key);
      if (outcome === "stored") result = await resultOf(answer);
      if (outcome === "refused") why = await answer.text();
    } catch {
      outcome = outcome === "stored" ? "elsewhere" : "down";
    }
    if (outcome === "refused" && batch.length > 1) return { outcome: "one by one" };
    if (outcome === "refused") result = { edits: [{ id: batch[0].id, fate: "refused", why }] };
    if (result) await edits.settle(ticket, result, askedAt);
    if (outcome === "erased") await erased(ticket);
    said(outcome, { ticket, kind: "edits", result, batch });
    return { outcome, result };
  });
}

/** Everything of one ticket's edits. Resolves to true once none waits. */
export async function sendEdits(ticket, how = {}) {
  let most;
  for (let round = 0; round < ROUNDS; round += 1) {
    const { outcome, result } = await sendSome(ticket, { ...how, page: how.page?.(), most });
    if (["none", "erased"].includes(outcome)) return true;
    if (outcome === "one by one") most = 1;
    else if (!["stored", "refused"].includes(outcome)) return false;
    if (outcome === "stored" && result.edits.every(({ fate }) => fate === "gap") && round > 3) return false;
  }
  return false;
}

/* ---- everything */

let round, wanted = false;

/** Send everything that waits, but for the edits of the ticket `except`: its own page sends those. True once nothing waits. */
export function drain(except = "") {
  wanted = true;
  round ||= untilQuiet(except).finally(() => (round = undefined));
  return round;
}

/** What is kept while a round is under way gets a round of its own. */
async function untilQuiet(except) {
  let done = false;
  while (wanted) {
    wanted = false;
    done = await sendAll(except);
  }
  return done;
}

async function sendAll(except) {
  const waiting = await edits.pending();
  const of = new Set(waiting.edits.filter((one) => one.state === "waiting").map((one) => one.ticket));
  of.delete(except);
  let done = await sendOldEntries();
  for (const ticket of of) {
    if (await sendEdits(ticket)) continue;
    if (STOP.has(status)) return false;
    done = false;
  }
  const photos = waiting.photos.filter((one) => one.state === "waiting");
  const sending = photos.length && (await fetched("sending-photos").catch(() => said("down", { kind: "photo" })));
  if (photos.length && !sending) return false;
  for (const { id } of photos) {
    const outcome = await sending.sendPhoto(id);
    if (STOP.has(outcome)) return false;
    if (["again", "busy"].includes(outcome)) done = false;
  }
  return done;
}

/** Whole steps that an earlier version of the program left here. */
async function sendOldEntries() {
  if (!(await hasOld())) return true;
  const { leftBehind } = await fetched("old-entries");
  return leftBehind();
}

let tries = 0, timer = 0, rounds = 0;

/** Call `work` (true once nothing waits) now, and whenever the line may be back; less and less often while it is not. */
export function keepTrying(work) {
  const stop = () => {
    clearTimeout(timer);
    timer = 0;
  };
  const later = () => {
    timer = setTimeout(run, AGAIN[Math.min(tries++, AGAIN.length - 1)] * 1000);
  };
  const run = async () => {
    stop();
    if (document.visibilityState !== "visible") return;
    rounds += 1;
    const done = await work().catch(() => false);
    rounds -= 1;
    stop();
    if (done) tries = 0;
    else later();
  };
  const afresh = () => {
    tries = 0;
    run();
  };
  document.addEventListener("entry:sent", () => status && !timer && !rounds && later()); // what failed outside of a round
  window.addEventListener("online", afresh);
  window.addEventListener("pageshow", (event) => event.persisted && afresh());
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && afresh());
  run();
  return run;
}
