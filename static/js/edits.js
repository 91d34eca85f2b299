/** The edits and photos of hands, until the shop has them and a backup of it has them too. DEVELOPERS.md has their fields. */
import { change, everywhere, inTurn, note, onDisk, settled, tell } from "./database.js";
import { uuid7 } from "./uuid.js";

const KEPT_FOR = 30 * 24 * 3600 * 1000;
export const MOST = 50; // edits of one request

const page = uuid7(); // only this page joins its own edits

/* ---- edits */

const byN = (one, other) => one.n - other.n;
export const inOrder = async (tables, ticket) => (await tables.edits.all(ticket)).sort(byN);

/** Unsent edits of one part that were never tried are one: the first base, the last value. Only of one page and one hand. */
const joins = (last, edit) => last && last.state === "waiting" && !last.tried && last.page === page
  && last.by === edit.by && last.act === edit.act && last.id === edit.base;

/**
 * Write edits {id, part, value, base, by, act} of a ticket down, with its draft. Where the database takes nothing they
 * stand in this page's memory.
 */
export async function add(ticket, given, draft) {
  const work = async (tables) => {
    if (draft) await tables.drafts.put(draft);
    const held = await inOrder(tables, ticket);
    for (const one of given) {
      const at = held.findLastIndex((edit) => edit.part === one.part), last = held[at];
      const edit = joins(last, one)
        ? { ...last, id: one.id, value: one.value }
        : { ...one, ticket, page, log: "", seq: 0, made: Date.now(), state: "waiting", tried: 0, at: 0, why: "" };
      edit.n = await tables.edits.put(edit);
      if (edit.n === last?.n) held[at] = edit;
      else held.push(edit);
    }
  };
  try {
    await onDisk("readwrite", work);
    settled();
  } catch (error) {
    note(error);
    await inTurn(work);
  }
  tell(ticket);
}

/** Everything of a ticket, from both places. */
export async function of(ticket) {
  const found = await everywhere("readonly", async (tables) => ({
    edits: await inOrder(tables, ticket),
    photos: await tables.photos.all(ticket),
    known: await tables.known.all(ticket),
    draft: await tables.drafts.get(ticket),
  }));
  const [first = { edits: [], photos: [], known: [] }, second] = found;
  if (!second) return first;
  const join = (name) => [...first[name], ...second[name]];
  return { edits: join("edits"), photos: join("photos"), known: join("known"), draft: first.draft ?? second.draft };
}

/** What is not with the shop yet, of all tickets or of one: edits, photos, drafts. */
export async function pending(ticket) {
  const found = await everywhere("readonly", async (tables) => ({
    edits: (await inOrder(tables, ticket)).filter((edit) => edit.state !== "stored"),
    photos: await tables.photos.all(ticket),
    drafts: await tables.drafts.all(ticket),
  }));
  return {
    edits: found.flatMap((one) => one.edits),
    photos: found.flatMap((one) => one.photos),
    drafts: found.flatMap((one) => one.drafts),
  };
}

async function number(tables, edit) {
  const { value: log } = await tables.meta.get("log");
  const name = `seq ${log} ${edit.ticket}`;
  const seq = ((await tables.meta.get(name))?.value || 0) + 1;
  await tables.meta.put({ name, value: seq });
  return { log, seq };
}

/** The next edits of a ticket to send; from now on their words and numbers stand. */
export async function take(ticket, most = MOST) {
  const found = await everywhere("readwrite", async (tables) => {
    const batch = (await inOrder(tables, ticket)).filter((edit) => edit.state === "waiting").slice(0, most);
    for (const edit of batch) {
      if (!edit.seq) Object.assign(edit, await number(tables, edit));
      edit.tried += 1;
      await tables.edits.put(edit);
    }
    return batch;
  });
  return found.find((batch) => batch.length) || [];
}

/** What the shop said became of them; see the contract of the address for `result`. */
export async function settle(ticket, result, askedAt) {
  await change(async (tables) => {
    await epochOf(tables, result, askedAt);
    for (const { id, fate, at, why } of result.edits) {
      const edit = await tables.edits.byId(id);
      if (!edit || fate === "gap") continue;
      const state = fate === "refused" ? "refused" : "stored";
      await tables.edits.put({ ...edit, state, fate, at, why: why || "" });
    }
    for (const [log, seq] of Object.entries(result.from || {})) await sendFrom(tables, ticket, log, seq);
    if ((result.copied || []).length) await newLog(tables, ticket, (edit) => edit.state === "waiting" && result.copied.includes(edit.log));
    if ((await inOrder(tables, ticket)).length) {
      for (const [part, state] of Object.entries(result.parts || {})) await learn(tables, { ticket, part, ...state });
    }
    await forgetStored(tables, ticket, result.backed_up);
  });
}

async function learn(tables, state) {
  const held = await tables.known.get([state.ticket, state.part]);
  if (!held || held.at <= state.at) await tables.known.put(state);
}

/** The shop has not seen the numbers before: once more from there. */
async function sendFrom(tables, ticket, log, seq) {
  const own = (await inOrder(tables, ticket)).filter((edit) => edit.log === log && edit.state !== "refused");
  if (!own.some((edit) => edit.seq === seq)) return newLog(tables, ticket, (edit) => edit.log === log && edit.state !== "refused");
  for (const edit of own) if (edit.seq >= seq) await tables.edits.put({ ...edit, state: "waiting" });
}

/** Another log: numbers begin anew, ids stay. */
async function newLog(tables, ticket, which) {
  await tables.meta.put({ name: "log", value: uuid7() });
  for (const edit of (await inOrder(tables, ticket)).filter(which)) await tables.edits.put({ ...edit, state: "waiting", log: "", seq: 0 });
}

/** The shop was set back to an earlier state: everything that is held goes again. `askedAt` is the version when it was asked. */
async function epochOf(tables, { epoch, version }, askedAt = 0) {
  const last = (await tables.meta.get("epoch"))?.value;
  const back = last && (last !== epoch || version < askedAt);
  if (back) {
    for (const edit of await inOrder(tables)) if (edit.state === "stored") await tables.edits.put({ ...edit, state: "waiting" });
    await tables.known.clear();
  }
  const seen = back ? 0 : (await tables.meta.get("version"))?.value || 0;
  await tables.meta.put({ name: "epoch", value: epoch });
  await tables.meta.put({ name: "version", value: Math.max(version, seen) });
}

/** The newest version of the shop that an answer named. */
export async function version() {
  const found = await everywhere("readonly", (tables) => tables.meta.get("version"));
  return found[0]?.value || 0;
}

/** A page that was rendered says in which epoch. */
export const sawEpoch = (epoch) => epoch && change((tables) => epochOf(tables, { epoch, version: 0 }));

/** Pages open at this moment by version, from the locks that they hold; undefined where that cannot be known. */
async function oldestPage() {
  if (!navigator.locks?.query) return undefined;
  const { held } = await navigator.locks.query();
  const versions = held.map(({ name }) => /^tallyfret-page-(\d+)$/.exec(name)?.[1]).filter(Boolean).map(Number);
  return Math.min(Infinity, ...versions);
}

let oldest; // asked for outside of transactions, which would end meanwhile
export const holdPage = (version) => {
  navigator.locks?.request(`tallyfret-page-${version}`, { mode: "shared" }, () => {
    look();
    return new Promise(() => {});
  }).catch(() => {});
};
const look = () => oldestPage().then((found) => (oldest = found), () => (oldest = undefined));
look();

/** What a verified backup holds and no page is older than, goes; so does what is 30 days old. */
async function forgetStored(tables, ticket, backedUp = 0) {
  look();
  const held = await inOrder(tables, ticket);
  for (const edit of held.filter((one) => one.state === "stored")) {
    const safe = oldest !== undefined && edit.at <= backedUp && edit.at <= oldest;
    if (safe || Date.now() - edit.made > KEPT_FOR) await tables.edits.delete(edit.n);
  }
  await forgetIfEmpty(tables, ticket);
}

/** With the last that is held of a ticket goes what was known of it. */
export async function forgetIfEmpty(tables, ticket) {
  if ((await inOrder(tables, ticket)).length || (await tables.photos.all(ticket)).length) return;
  for (const { part } of await tables.known.all(ticket)) await tables.known.delete([ticket, part]);
  await tables.drafts.delete(ticket);
}

/* ---- photos */

/** Write a photo down as it came. Resolves to false where it stands in this page's memory alone. */
export async function addPhoto({ bytes, type, ...photo }) {
  const work = async (tables) => {
    await tables.pictures.put({ id: photo.id, bytes, type });
    await tables.photos.put({ made: Date.now(), state: "waiting", why: "", ...photo });
  };
  let kept = true;
  try {
    await onDisk("readwrite", work);
  } catch (error) {
    note(error);
    kept = false;
    await inTurn(work);
  }
  tell(photo.ticket);
  return kept;
}

/** A photo with its picture. */
export async function photo(id) {
  const found = await everywhere("readonly", async (tables) => ({ ...(await tables.photos.get(id)), ...(await tables.pictures.get(id)) }));
  return found.find((one) => one.key);
}

export const markPhoto = (id, changes) => change(async (tables) => {
  const held = await tables.photos.get(id);
  if (held) await tables.photos.put({ ...held, ...changes });
});

/** What goes out of it, each time the same bytes. */
export const keepSmall = (id, small) => everywhere("readwrite", async (tables) => {
  const held = await tables.pictures.get(id);
  if (held) await tables.pictures.put({ ...held, small });
});

export const forgetPhoto = async (tables, id) => (await tables.photos.delete(id), tables.pictures.delete(id));
export const dropPhoto = (id) => change((tables) => forgetPhoto(tables, id));
