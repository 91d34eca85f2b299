/** Photos: kept on the phone as they come, all at once, then made small and sent one by one. */
import { make, word } from "./dom.js";
import * as edits from "./edits.js";
import { drain } from "./outbox.js";
import { ticketId } from "./ticket.js";
import { uuid7 } from "./uuid.js";

const notes = new Map(); // id → the words under that photo
let unkept = 0; // photos that stand on this page alone: leaving it asks

/** A picture in the row, with what has become of it so far. */
function thumb(thumbs, id, picture) {
  const note = make("small", { role: "status" });
  thumbs.append(make("li", {}, make("img", { src: URL.createObjectURL(picture), alt: word("photo"), loading: "lazy" }), note));
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
async function take(thumbs, file) {
  const id = uuid7();
  unkept += 1;
  thumb(thumbs, id, file);
  const bytes = await file.arrayBuffer(); // some phones lose Blobs that a database holds
  const kept = await edits.addPhoto({ id, key: uuid7(), ticket: ticketId(), bytes, type: file.type });
  if (kept) unkept -= 1;
  else notes.get(id).dataset.memory = "yes";
  tell(id, kept ? "waiting" : "memory");
  notes.get(id).dispatchEvent(new CustomEvent("photo:kept", { bubbles: true }));
  drain(ticketId()).catch(() => {}); // the others are kept meanwhile
}

function sent({ detail: { kind, id, outcome } }) {
  if (kind !== "photo") return;
  if (["stored", "refused", "erased"].includes(outcome) && notes.get(id)?.dataset.memory) unkept -= 1;
  tell(id, outcome);
}

window.addEventListener("beforeunload", (event) => unkept && event.preventDefault());

document.addEventListener("entry:sent", sent);

export const takePhotos = (box, files) => Promise.all(files.map((file) => take(box.querySelector(".thumbs"), file)));

/** What this phone still holds, beside what the page came with. */
export async function showPhotos(box) {
  const thumbs = box.querySelector(".thumbs");
  const { photos } = await edits.of(ticketId());
  for (const { id } of photos.filter((one) => !notes.has(one.id))) {
    const photo = await edits.photo(id);
    thumb(thumbs, id, new Blob([photo.small || photo.bytes], { type: photo.small ? "image/jpeg" : photo.type }));
    tell(id, photo.state);
  }
}
