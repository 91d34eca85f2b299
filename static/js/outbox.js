/**
 * Sends what the phone keeps: in order within a ticket, words before photos, one sender at a time.
 * An entry leaves only when its own key comes back; whatever else answers (a login page, a portal, an
 * error) it stays. Nothing here knows of htmx or of the form.
 */
import { shrink } from "./shrink.js";
import * as store from "./store.js";
import { device } from "./uuid.js";

const PATIENCE = { step: 8000, photo: 90000 };
const AGAIN = [5, 15, 60, 300]; // s between rounds while something waits
const STORED = new Set([200, 412, 422]);
const REFUSED = new Set([400, 404, 413, 415]);

/** Where requests leave the page. */
export const line = { fetch: (url, request) => window.fetch(url, request) };

/** Does the server itself answer at its address `ping`? */
export async function answers(ping) {
  const answer = await line.fetch(ping, { cache: "no-store", signal: AbortSignal.timeout(2000) }).catch(() => ({}));
  return answer.status === 204;
}

const chains = {};

/** Run `work` while no other page of this phone sends the same kind; without locks (plain http), no other work here. */
function alone(kind, work) {
  if (navigator.locks) return navigator.locks.request(`tallyfret-${kind}`, work);
  return (chains[kind] = (chains[kind] || Promise.resolve()).then(work, work));
}

/** stored · refused · again (409) · signin · revoked · elsewhere (a login page or portal) · busy */
function verdict(answer, key) {
  if (STORED.has(answer.status) && answer.headers.get("Saved-Key") === key) return "stored";
  if (answer.type === "opaqueredirect" || answer.ok || answer.status === 412 || answer.status === 422) return "elsewhere";
  if (answer.status === 401) return answer.headers.get("Revoked") ? "revoked" : "signin";
  if (answer.status === 409) return "again";
  return REFUSED.has(answer.status) ? "refused" : "busy";
}

function bodyOf(entry) {
  if (entry.kind === "step") return new URLSearchParams(entry.pairs);
  const body = new FormData();
  body.append("photo", new Blob([entry.bytes], { type: entry.type || "image/jpeg" }), "photo.jpg");
  return body;
}

function post(entry, extra) {
  const headers = new Headers(extra);
  headers.set("Device", entry.device || device());
  headers.set("Idempotency-Key", entry.key);
  return line.fetch(entry.url, {
    method: "POST",
    body: bodyOf(entry),
    headers,
    credentials: "same-origin",
    redirect: "manual",
    signal: AbortSignal.timeout(PATIENCE[entry.kind]),
  });
}

/** A photo goes out small, and as often as it must the same bytes. */
async function madeSmall(key) {
  const entry = await store.entry(key);
  if (!entry?.large) return;
  const small = await shrink(new Blob([entry.bytes], { type: entry.type }));
  await store.mark(key, { bytes: await small.arrayBuffer(), type: small.type, large: false });
}

/** One entry, once. Resolves to {outcome, answer}; "down" where nothing answered, "gone" where there is nothing to send. */
async function send(key, kind, extra) {
  return alone(kind, async () => {
    if (kind === "photo") await madeSmall(key);
    const entry = await store.take(key);
    if (!entry) return { outcome: "gone" };
    let answer, outcome = "down";
    try {
      answer = await post(entry, extra);
      outcome = verdict(answer, key);
      if (outcome === "refused") await store.mark(key, { state: "refused", why: await answer.clone().text() });
    } catch {
      outcome = "down";
    }
    if (outcome === "stored") await store.drop(key, answer.headers.get("Revision"));
    said(outcome, entry);
    return { outcome, answer };
  });
}

function said(outcome, { key, ticket, kind, step }) {
  if (outcome === "stored") enrolled();
  status = { stored: "", refused: "" }[outcome] ?? outcome;
  document.dispatchEvent(new CustomEvent("entry:sent", { detail: { outcome, key, ticket, kind, step } }));
}

/** The server takes what this phone sends, or shows it the board: whoever withdrew it has enrolled it again. */
export function enrolled() {
  try {
    localStorage.removeItem("withdrawn at");
  } catch { /* storage refused: no mark either */ }
}

/** What kept the last entry from arriving: "" while things arrive. */
export let status = "";

/** Send a step's entry after the earlier ones of its ticket. Rejects if it stays on the phone. */
export async function deliver(ticket, key, extra) {
  const before = (await store.of(ticket)).filter((one) => one.kind === "step" && one.state === "waiting");
  const upTo = before.findIndex((one) => one.key === key);
  for (const entry of before.slice(0, upTo + 1)) {
    const { outcome, answer } = await send(entry.key, "step", extra);
    if (entry.key === key && answer) return answer;
    if (!["stored", "refused", "gone"].includes(outcome)) return answer ?? Promise.reject(new TypeError("the line is down"));
  }
  return undefined;
}

const STOP = new Set(["down", "signin", "revoked", "elsewhere"]);
let round, wanted = false;

/** Send everything that waits, but for the words of the ticket `except`: its own page sends those. */
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
  const waiting = (await store.all()).filter((one) => one.state === "waiting");
  const held = new Set([except]);
  for (const kind of ["step", "photo"]) {
    for (const entry of waiting.filter((one) => one.kind === kind)) {
      if (kind === "step" && held.has(entry.ticket)) continue;
      const { outcome } = await send(entry.key, kind);
      if (STOP.has(outcome)) return false;
      if (outcome === "busy" || outcome === "again") held.add(entry.ticket);
    }
  }
  return !(await store.all()).some((one) => one.state === "waiting" && !(one.kind === "step" && one.ticket === except));
}

let tries = 0, timer = 0;

/** Call `work` (true once nothing waits) now, and whenever the line may be back; less and less often while it is not. */
export function keepTrying(work) {
  const run = async () => {
    clearTimeout(timer);
    if (document.visibilityState !== "visible") return;
    const done = await work().catch(() => false);
    clearTimeout(timer);
    if (done) tries = 0;
    else timer = setTimeout(run, AGAIN[Math.min(tries++, AGAIN.length - 1)] * 1000);
  };
  const afresh = () => {
    tries = 0;
    run();
  };
  window.addEventListener("online", afresh);
  window.addEventListener("pageshow", (event) => event.persisted && afresh());
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && afresh());
  run();
  return run;
}
