/**
 * Whole steps and photos that an earlier version of the program wrote to this phone: sent as that version would have
 * sent them, nothing is added, and with the last one the old database goes.
 */
import { alone, line } from "./outbox.js";
import { device } from "./uuid.js";

const NAME = "tallyfret";
const STORED = new Set([200, 412, 422]), REFUSED = new Set([400, 404, 413, 415]);
const PATIENCE = { step: 8000, photo: 90000 };

const answer = (request) => new Promise((resolve, reject) => {
  request.onsuccess = () => resolve(request.result);
  request.onerror = () => reject(request.error);
});

/** The old database; undefined where there is none, and none is made. */
function open() {
  return new Promise((resolve) => {
    if (!window.indexedDB) return resolve(undefined);
    const request = indexedDB.open(NAME);
    request.onupgradeneeded = () => request.transaction.abort();
    request.onerror = () => resolve(undefined);
    request.onsuccess = () => resolve(request.result);
  });
}

/** Entries from a file that an earlier version exported. Those that are here already stay as they are. */
export async function bringIn(brought) {
  const request = indexedDB.open(NAME, 1);
  request.onupgradeneeded = () => {
    const entries = request.result.createObjectStore("entries", { keyPath: "seq", autoIncrement: true });
    entries.createIndex("key", "key", { unique: true });
    entries.createIndex("ticket", "ticket");
    request.result.createObjectStore("drafts", { keyPath: "ticket" });
  };
  (await answer(request)).close();
  await within("readwrite", undefined, async (entries) => {
    for (const entry of brought) {
      if (!(await answer(entries.index("key").get(entry.key)))) entries.put({ created: Date.now(), attempts: 0, ...entry });
    }
  });
  told();
}

/** Run `work(entries, drafts)`; resolves to `otherwise` where there is no old database. */
async function within(mode, otherwise, work) {
  const db = await open();
  if (!db) return otherwise;
  try {
    const under = db.transaction(["entries", "drafts"], mode);
    const done = new Promise((resolve, reject) => ([under.oncomplete, under.onabort] = [resolve, reject]));
    const result = await work(under.objectStore("entries"), under.objectStore("drafts"));
    await done;
    return result;
  } catch {
    return otherwise;
  } finally {
    db.close();
  }
}

const told = (result) => {
  document.dispatchEvent(new CustomEvent("kept:changed", { detail: {} }));
  return result;
};

export const all = () => within("readonly", [], (entries) => answer(entries.getAll()));
export const drafts = () => within("readonly", [], (_, drafts) => answer(drafts.getAll()));
export const of = async (ticket) => (await all()).filter((entry) => entry.ticket === ticket);
export const draft = async (ticket) => (await drafts()).find((one) => one.ticket === ticket);

const change = (key, work) => within("readwrite", undefined, async (entries) => {
  const entry = await answer(entries.index("key").get(key));
  return entry && answer(work(entries, entry));
}).then(told);

export const mark = (key, changes) => change(key, (entries, entry) => entries.put({ ...entry, ...changes }));
export const drop = (key) => change(key, (entries, entry) => entries.delete(entry.seq));

/** Forget one ticket, or everything. */
export const wipe = (ticket) => within("readwrite", undefined, async (entries, drafts) => {
  for (const one of await answer(entries.getAll())) if (!ticket || one.ticket === ticket) entries.delete(one.seq);
  return ticket ? answer(drafts.delete(ticket)) : answer(drafts.clear());
}).then(told);

function bodyOf(entry) {
  if (entry.kind === "step") return new URLSearchParams(entry.pairs);
  const body = new FormData();
  body.append("photo", new Blob([entry.bytes], { type: entry.type || "image/jpeg" }), "photo.jpg");
  return body;
}

async function send(entry) {
  await mark(entry.key, { attempts: entry.attempts + 1 });
  try {
    const got = await line.fetch(entry.url, {
      method: "POST",
      body: bodyOf(entry),
      headers: { Device: entry.device || device(), "Idempotency-Key": entry.key },
      credentials: "same-origin",
      redirect: "manual",
      signal: AbortSignal.timeout(PATIENCE[entry.kind]),
    });
    if (STORED.has(got.status) && got.headers.get("Saved-Key") === entry.key) return (await drop(entry.key), true);
    if (got.status === 410) return (await wipe(entry.ticket), true);
    if (REFUSED.has(got.status)) await mark(entry.key, { state: "refused", why: await got.text() });
    return got.status === 401 && got.headers.get("Revoked") ? undefined : REFUSED.has(got.status);
  } catch {
    return undefined; // the line is down
  }
}

/** Send what is left, words before photos, those of a ticket in order. True once nothing waits. */
export const leftBehind = () => alone("old", async () => {
  const held = new Set();
  const waiting = (await all()).filter((entry) => entry.state === "waiting");
  for (const entry of waiting.sort((one, other) => (one.kind === "photo") - (other.kind === "photo"))) {
    if (entry.kind === "step" && held.has(entry.ticket)) continue;
    const sent = await send(entry);
    if (sent === undefined) return false;
    if (!sent) held.add(entry.ticket);
  }
  const left = await all();
  if (!left.length) indexedDB.deleteDatabase(NAME);
  return !left.some((entry) => entry.state === "waiting");
});

/** What a page that shows this ticket lays over: parts and values. Where the blank page stands in, the whole draft. */
export async function stepsOf(ticket, whole, kindOf) {
  const drafted = whole ? Object.values((await draft(ticket))?.steps || {}) : [];
  const steps = [...drafted, ...(await of(ticket)).filter((entry) => entry.pairs).map(({ pairs }) => pairs)];
  return new Map(steps.flatMap((pairs) => [...partsOf(pairs, kindOf)]));
}

/** A step's pairs as parts. A missing pair takes nothing back. */
function partsOf(pairs, kindOf) {
  const parts = new Map(), counts = {}, pins = {};
  for (const [name, value] of pairs.filter(([name]) => name !== "based_on" && name !== "passed")) {
    const [id, member, of] = name.split("."), kind = kindOf(id);
    const at = (counts[name] = (counts[name] || 0) + 1);
    if (!value.trim()) continue;
    if (kind === "pins") (pins[member] ||= {})[of] = value.trim();
    else if (["several", "frets"].includes(kind)) parts.set(`${id}/${value}`, "yes");
    else if (kind === "measures") parts.set(`${id}/${at}`, value);
    else if (kind === "string_frets") parts.set(`${id}/${value.trim().replaceAll("/", "-")}`, value);
    else parts.set(name.replace(".", "/"), value);
  }
  for (const [id, pin] of Object.entries(pins)) parts.set(`pins/${id}`, JSON.stringify(pin));
  return parts;
}
