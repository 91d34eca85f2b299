/** What this phone holds as a whole: taken off it, brought in, decided upon and forgotten. */
import { change, everywhere, onDisk, tell } from "./database.js";
import { forgetIfEmpty, forgetPhoto, inOrder } from "./edits.js";

/** Everything that this phone holds, to be taken off it. */
export async function everything() {
  const [disk = { edits: [], photos: [], drafts: [] }] = await everywhere("readonly", async (tables) => ({
    edits: await inOrder(tables), photos: await withPictures(tables), drafts: await tables.drafts.all(),
  }));
  return disk;
}

async function withPictures(tables) {
  const photos = [];
  for (const photo of await tables.photos.all()) photos.push({ ...photo, ...(await tables.pictures.get(photo.id)) });
  return photos;
}

/** Bring in what another phone held: its ids, logs and numbers stay, and nothing of this phone's own is replaced. */
export const bringIn = (brought) => onDisk("readwrite", async (tables) => {
  for (const { n, ...edit } of brought.edits) if (!(await tables.edits.byId(edit.id))) await tables.edits.put(edit);
  for (const { bytes, small, type, ...photo } of brought.photos) {
    if (await tables.photos.get(photo.id)) continue;
    await tables.pictures.put({ id: photo.id, bytes, small, type });
    await tables.photos.put(photo);
  }
  for (const draft of brought.drafts) if (!(await tables.drafts.get(draft.ticket))) await tables.drafts.put(draft);
}).finally(() => tell());

/** Send refused edits and photos of a ticket again, or throw them away. */
export const again = (ticket) => change((tables) => eachRefused(tables, ticket, (store, row) => store.put({ ...row, state: "waiting", why: "" })));
export const throwAway = (ticket) => change(async (tables) => {
  await eachRefused(tables, ticket, forget);
  await forgetIfEmpty(tables, ticket);
});

const forget = (store, row, tables) => ("part" in row ? store.delete(row.n) : forgetPhoto(tables, row.id));

async function eachRefused(tables, ticket, work) {
  for (const row of await inOrder(tables, ticket)) if (row.state === "refused") await work(tables.edits, row, tables);
  for (const row of await tables.photos.all(ticket)) if (row.state === "refused") await work(tables.photos, row, tables);
}

/** Change, or forget, single edits and photos that wait. */
export const mark = (rows, changes) => change((tables) => eachOf(tables, rows, (store, row) => store.put({ ...row, ...changes })));
export const drop = (rows) => change(async (tables) => {
  await eachOf(tables, rows, forget);
  for (const ticket of new Set(rows.map((row) => row.ticket))) await forgetIfEmpty(tables, ticket);
});

async function eachOf(tables, rows, work) {
  for (const { id } of rows) {
    const edit = await tables.edits.byId(id), photo = await tables.photos.get(id);
    if (edit) await work(tables.edits, edit, tables);
    if (photo) await work(tables.photos, photo, tables);
  }
}

/** Forget one ticket, or without an id everything. */
export const wipe = (ticket) => change(async (tables) => {
  if (!ticket) return Promise.all(["edits", "photos", "pictures", "known", "drafts"].map((name) => tables[name].clear()));
  for (const edit of await tables.edits.all(ticket)) await tables.edits.delete(edit.n);
  for (const photo of await tables.photos.all(ticket)) await forgetPhoto(tables, photo.id);
  for (const { part } of await tables.known.all(ticket)) await tables.known.delete([ticket, part]);
  return tables.drafts.delete(ticket);
});

/** A withdrawn phone keeps only what the shop has not got. */
export const forgetAllStored = () => change(async (tables) => {
  for (const edit of await tables.edits.all()) if (edit.state === "stored") await tables.edits.delete(edit.n);
  await tables.known.clear();
});
