/**
 * What this phone keeps until the server has it: entries (a step's words or a photo) and, of each ticket
 * with unsent entries, a draft (its whole form, so that it opens without a line). Both go with the last entry.
 *
 * entry {seq, key, ticket, kind: "step"|"photo", step, url, pairs|bytes, device (of another phone, if it was brought in), created, changed, build, attempts, state, why, warned}
 * state "waiting" is sent when its turn comes; "refused" stands until somebody decides.
 */
const NAME = "tallyfret", VERSION = 1;
const news = "BroadcastChannel" in window ? new BroadcastChannel("tallyfret-kept") : null;
let opening;

function open() {
  opening ||= new Promise((resolve, reject) => {
    if (!window.indexedDB) return reject(new Error("no IndexedDB"));
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => {
      const entries = request.result.createObjectStore("entries", { keyPath: "seq", autoIncrement: true });
      entries.createIndex("key", "key", { unique: true });
      entries.createIndex("ticket", "ticket");
      request.result.createObjectStore("drafts", { keyPath: "ticket" });
    };
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      const db = request.result;
      db.onversionchange = () => db.close();
      db.onclose = () => (opening = undefined);
      resolve(db);
    };
  });
  opening.catch(() => (opening = undefined));
  return opening;
}

async function transaction(mode) {
  try {
    return (await open()).transaction(["entries", "drafts"], mode, { durability: "strict" });
  } catch (error) {
    if (error.name !== "InvalidStateError") throw error;
    opening = undefined; // the phone closed the database behind the page's back
    return (await open()).transaction(["entries", "drafts"], mode, { durability: "strict" });
  }
}

const answer = (request) => new Promise((resolve, reject) => {
  request.onsuccess = () => resolve(request.result);
  request.onerror = () => reject(request.error);
});

/** Run `work(entries, drafts)` in one transaction; resolves to its result once that is on the disk. */
async function within(mode, work) {
  const under = await transaction(mode);
  const done = new Promise((resolve, reject) => {
    under.oncomplete = resolve;
    under.onabort = () => reject(under.error || new Error("aborted"));
  });
  done.catch(() => {});
  const result = await work(under.objectStore("entries"), under.objectStore("drafts"));
  await done;
  return result;
}

async function change(work) {
  const result = await within("readwrite", work);
  tell();
  news?.postMessage("changed");
  return result;
}

const tell = () => document.dispatchEvent(new CustomEvent("kept:changed"));
if (news) news.onmessage = tell;

const byKey = (entries, key) => answer(entries.index("key").get(key));
const ofTicket = (entries, ticket) => answer(entries.index("ticket").getAll(ticket));

/** Is there a place to keep things at all? */
export const works = () => open().then(() => true, () => false);

/**
 * Keep an entry. A step that was kept and never sent, or was refused, is replaced: the same place, the newer
 * words and key. One that may have reached the server stays as it is, and the newer words go after it.
 */
export function keep(entry, draft) {
  return change(async (entries, drafts) => {
    if (draft) drafts.put(draft);
    if (await byKey(entries, entry.key)) return;
    const fresh = { created: Date.now(), changed: Date.now(), attempts: 0, state: "waiting", why: "", ...entry };
    const last = (await ofTicket(entries, entry.ticket)).filter((one) => one.step && one.step === entry.step).at(-1);
    const unsent = last && (!last.attempts || last.state === "refused");
    entries.put(unsent ? { ...fresh, seq: last.seq, created: last.created } : fresh);
  });
}

/** Bring in what another phone kept, all or nothing. Nothing of this phone's own is replaced by it. */
export const add = (brought, forms) => change(async (entries, drafts) => {
  for (const entry of brought) {
    if (!(await byKey(entries, entry.key))) entries.put({ created: Date.now(), attempts: 0, ...entry });
  }
  for (const draft of forms) if (!(await answer(drafts.get(draft.ticket)))) drafts.put(draft);
});

export const entry = (key) => within("readonly", (entries) => byKey(entries, key));
export const all = () => within("readonly", (entries) => answer(entries.getAll()));
export const of = (ticket) => within("readonly", (entries) => ofTicket(entries, ticket));
export const drafts = () => within("readonly", (_, drafts) => answer(drafts.getAll()));
export const draft = (ticket) => within("readonly", (_, drafts) => answer(drafts.get(ticket)));

/** Take an entry to send it: from now on its words stand. Undefined if another page has sent it, or if it waits for an earlier one. */
export function take(key) {
  return change(async (entries) => {
    const entry = await byKey(entries, key);
    if (entry?.state !== "waiting") return undefined;
    const before = (await ofTicket(entries, entry.ticket)).some((one) =>
      one.kind === "step" && entry.kind === "step" && one.state === "waiting" && one.seq < entry.seq);
    if (before) return undefined;
    entry.attempts += 1;
    entries.put(entry);
    return entry;
  });
}

/** Write down what came of an entry. */
export const mark = (key, changes) => change(async (entries) => {
  const entry = await byKey(entries, key);
  if (entry) entries.put({ ...entry, ...changes });
});

/**
 * The server has it (or somebody said so): it leaves, and with a ticket's last entry its draft. What was written
 * after it in the same step and never sent has seen it: from now on it is based on that revision.
 */
export const drop = (key, revision) => change(async (entries, drafts) => {
  const entry = await byKey(entries, key);
  if (!entry) return;
  entries.delete(entry.seq);
  const left = (await ofTicket(entries, entry.ticket)).filter((one) => one.seq !== entry.seq);
  const after = left.filter((one) => revision && one.pairs && one.step === entry.step && !one.attempts);
  for (const one of after) entries.put({ ...one, pairs: one.pairs.map((pair) => (pair[0] === "based_on" ? ["based_on", revision] : pair)) });
  if (!left.length) drafts.delete(entry.ticket);
});

/** Forget one ticket, or without an id everything. */
export const wipe = (ticket) => change(async (entries, drafts) => {
  if (!ticket) return entries.clear(), drafts.clear();
  for (const entry of await ofTicket(entries, ticket)) entries.delete(entry.seq);
  drafts.delete(ticket);
});
