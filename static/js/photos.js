/** Photos: kept on the phone as they come, all at once, then made small and sent one by one; one that is unticked goes. */
import { make, word } from "./dom.js";
import * as edits from "./edits.js";
import { drain } from "./outbox.js";
import { photoTaken } from "./shown.js";
import { ticketId } from "./ticket.js";
import { uuid7 } from "./uuid.js";

const notes = new Map(); // id → the words under that photo
const put = new Map(); // id → a photo that was unticked before the shop had it
let unkept = 0; // photos that stand on this page alone: leaving it asks

const tickOf = (id) => document.querySelector(`[name="photos.${CSS.escape(id)}"]`);

/** A picture in the row, with what has become of it so far. */
function thumb(thumbs, id, picture) {
  const note = make("small", { role: "status" });
  const tick = make("input", { type: "checkbox", name: `photos.${id}`, value: "there", checked: Boolean(photoTaken(id)) });
  const image = make("img", { src: URL.createObjectURL(picture), alt: word("photo"), loading: "lazy" });
  thumbs.append(make("li", {}, image, note, make("label", {}, tick, make("span", {}, word("keep")))));
  notes.set(id, note);
}

const WORDS = { refused: "photoRefused", waiting: "onPhone", memory: "onPage" };

function tell(id, outcome) {
  const note = notes.get(id);
  if (!note) return;
  note.hidden = outcome === "stored";
  note.textContent = note.hidden ? "" : word(WORDS[outcome] || (note.dataset.memory ? "onPage" : "onPhone"));
  if (outcome === "stored") note.dispatchEvent(new CustomEvent("photo:kept", { bubbles: true }));
}

/** Write a photo down before anything else is done with it. */
async function keep(photo) {
  const { id } = photo, note = notes.get(id);
  unkept += 1;
  const kept = await edits.addPhoto(photo);
  if (kept) unkept -= 1;
  else note.dataset.memory = "yes";
  tell(id, kept ? "waiting" : "memory");
  note.dispatchEvent(new CustomEvent("photo:kept", { bubbles: true }));
  drain(ticketId()).catch(() => {}); // the others are kept meanwhile
}

/** Nothing of this photo stands on this page alone any more. */
function released(id) {
  const note = notes.get(id);
  if (!note?.dataset.memory) return;
  delete note.dataset.memory;
  unkept -= 1;
}

async function take(thumbs, file) {
  const id = uuid7();
  unkept += 1;
  thumb(thumbs, id, file);
  const bytes = await file.arrayBuffer(); // some phones lose Blobs that a database holds
  await keep({ id, key: uuid7(), ticket: ticketId(), bytes, type: file.type }).finally(() => (unkept -= 1));
}

/** Unticked, a photo that the shop has not got leaves the phone; ticked again while this page is open, it is back. */
async function sortOut() {
  for (const [id, note] of notes) {
    const { checked } = tickOf(id) || {}, held = checked === false && (await edits.photo(id));
    if (held) {
      put.set(id, { ...held, small: undefined, state: "waiting", why: "" });
      await edits.dropPhoto(id);
      released(id);
      note.hidden = true;
    } else if (checked && put.has(id)) {
      const photo = put.get(id);
      put.delete(id);
      await keep(photo);
    }
  }
}

/** The ticket had this very picture already. */
function renamed(id, as) {
  const tick = tickOf(id);
  if (!tick) return;
  photoTaken(as);
  if (tickOf(as)) tick.closest("li").remove();
  else tick.name = `photos.${as}`;
}

function sent({ detail: { kind, id, outcome, as } }) {
  if (kind !== "photo") return;
  if (["stored", "refused", "erased"].includes(outcome)) released(id);
  tell(id, outcome);
  if (as && as !== id) renamed(id, as);
}

window.addEventListener("beforeunload", (event) => unkept && event.preventDefault());

document.addEventListener("entry:sent", sent);
document.addEventListener("change", ({ target }) => target.closest(".thumbs") && sortOut());
document.addEventListener("step:shown-anew", sortOut);

export const takePhotos = (box, files) => Promise.all(files.map((file) => take(box.querySelector(".thumbs"), file)));

/** What this phone still holds, beside what the page came with. */
export async function showPhotos(box) {
  const thumbs = box.querySelector(".thumbs");
  const { photos } = await edits.of(ticketId());
  for (const { id } of photos.filter((one) => !tickOf(one.id))) {
    const photo = await edits.photo(id);
    thumb(thumbs, id, new Blob([photo.small || photo.bytes], { type: photo.small ? "image/jpeg" : photo.type }));
    tell(id, photo.state);
  }
}
