/** Tables of edits and photos: in the phone's database, or, where it takes nothing, in this page's memory. */
import { uuid7 } from "./uuid.js";

const NAME = "tallyfret-edits", VERSION = 1;
const STORES = { edits: "n", photos: "id", pictures: "id", known: ["ticket", "part"], drafts: "ticket", meta: "name" };
const news = "BroadcastChannel" in window ? new BroadcastChannel(NAME) : null;

const answer = (request) => new Promise((resolve, reject) => {
  request.onsuccess = () => resolve(request.result);
  request.onerror = () => reject(request.error);
});

let opening;

function open() {
  opening ||= new Promise((resolve, reject) => {
    if (!window.indexedDB) return reject(new Error("no IndexedDB"));
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => {
      for (const [name, keyPath] of Object.entries(STORES)) {
        const store = request.result.createObjectStore(name, { keyPath, autoIncrement: keyPath === "n" });
        if (!["pictures", "meta"].includes(name)) store.createIndex("ticket", "ticket");
        if (keyPath === "n") store.createIndex("id", "id", { unique: true });
      }
      try {
        request.transaction.objectStore("meta").put({ name: "log", value: uuid7() });
      } catch (error) {
        reject(error); // no room for even that
        request.transaction.abort();
      }
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

async function begin(mode) {
  const names = Object.keys(STORES);
  try {
    return (await open()).transaction(names, mode, { durability: "strict" });
  } catch (error) {
    if (error.name !== "InvalidStateError") throw error;
    opening = undefined; // the phone closed the database behind the page's back
    return (await open()).transaction(names, mode, { durability: "strict" });
  }
}

const table = (store) => ({
  get: (key) => answer(store.get(key)),
  all: (ticket) => answer(ticket ? store.index("ticket").getAll(ticket) : store.getAll()),
  byId: (id) => answer(store.index("id").get(id)),
  put: (row) => answer(store.put(row)),
  delete: (key) => answer(store.delete(key)),
  clear: () => answer(store.clear()),
});

/** Run `work(tables)` in one transaction of the database; resolves once that is on the disk. */
export async function onDisk(mode, work) {
  const under = await begin(mode);
  const done = new Promise((resolve, reject) => {
    under.oncomplete = resolve;
    under.onabort = () => reject(under.error || new Error("aborted"));
  });
  done.catch(() => {});
  try {
    const result = await work(Object.fromEntries(Object.keys(STORES).map((name) => [name, table(under.objectStore(name))])));
    await done;
    return result;
  } catch (error) {
    try {
      under.abort();
    } catch { /* it has ended by itself */ }
    throw error;
  }
}

const memory = Object.fromEntries(Object.entries(STORES).map(([name, path]) => [name, inMemory(path)]));
memory.meta.put({ name: "log", value: uuid7() });

function inMemory(path) {
  const rows = new Map();
  let last = 0;
  const keyOf = (row) => JSON.stringify(Array.isArray(path) ? path.map((name) => row[name]) : row[path]);
  return {
    get: async (key) => rows.get(JSON.stringify(key)),
    all: async (ticket) => [...rows.values()].filter((row) => !ticket || row.ticket === ticket),
    byId: async (id) => [...rows.values()].find((row) => row.id === id),
    put: async (row) => {
      if (path === "n") row.n ||= last += 1;
      rows.set(keyOf(row), { ...row });
      return row[path];
    },
    delete: async (key) => void rows.delete(JSON.stringify(key)),
    clear: async () => rows.clear(),
  };
}

/** Why the database takes nothing: "" while it does, "none" where there is none, "full" where there is no room. */
export let trouble = "";

export const settled = () => (trouble = "");

/** How much stands in this page's memory alone and is not with the shop. */
export const loose = async () => (await memory.edits.all()).filter((edit) => edit.state !== "stored").length + (await memory.photos.all()).length;

let turn = Promise.resolve();

/** In the page's memory one piece of work follows the other, as transactions do. */
export const inTurn = (work) => (turn = turn.then(() => work(memory), () => work(memory)));

/** Both places that edits may stand in; the second only once the first has refused something. */
export async function everywhere(mode, work) {
  const found = [];
  try {
    found.push(await onDisk(mode, work));
  } catch (error) {
    note(error);
  }
  if (trouble || (await memory.edits.all()).length || (await memory.photos.all()).length) found.push(await inTurn(work));
  return found;
}

export function note(error) {
  trouble = error?.name === "QuotaExceededError" ? "full" : "none";
}

export async function change(work) {
  const found = await everywhere("readwrite", work);
  tell();
  return found;
}

export function tell(ticket = "") {
  document.dispatchEvent(new CustomEvent("kept:changed", { detail: { ticket } }));
  news?.postMessage({ ticket });
}

if (news) news.onmessage = ({ data }) => document.dispatchEvent(new CustomEvent("kept:changed", { detail: { ...data, elsewhere: true } }));

/** Is there a place to keep things at all? */
export const works = () => open().then(() => true, () => false);

/** Did an earlier version of the program leave its database here? Yes where that cannot be known. */
export async function hasOld() {
  if (!window.indexedDB) return false;
  const found = await indexedDB.databases?.().catch(() => undefined);
  return found ? found.some(({ name }) => name === "tallyfret") : true;
}
