/** Photos: made small, kept on the phone as bytes, then sent one by one, each under its own key. */
import { all, make, word } from "./dom.js";
import { drain, line } from "./outbox.js";
import * as store from "./store.js";
import { build, ticketAddress, ticketId } from "./ticket.js";
import { device, uuid7 } from "./uuid.js";

const LONGEST = 1600;
const QUALITY = 0.82;
const AGAIN = 15000;
const notes = new Map(); // key → the words under that photo

/** A JPEG of at most 1600 px a side, upright and without any metadata; the file itself if it cannot be drawn. */
export async function shrink(file) {
  try {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
    const canvas = make("canvas", { width: Math.round(picture.width * scale), height: Math.round(picture.height * scale) });
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    return (await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY))) || file;
  } catch {
    return file;
  }
}

/** A picture in the row, with what has become of it so far. */
function thumb(thumbs, key, picture) {
  const note = make("small", { role: "status" }, word("onPhone"));
  thumbs.append(make("li", {}, make("img", { src: URL.createObjectURL(picture), alt: word("photo") }), note));
  notes.set(key, note);
}

function tell(key, outcome) {
  const note = notes.get(key);
  if (!note) return;
  note.hidden = outcome === "stored";
  note.textContent = note.hidden ? "" : word(outcome === "refused" ? "photoRefused" : outcome === "full" ? "full" : "onPhone");
  if (outcome === "stored") note.dispatchEvent(new CustomEvent("photo:kept", { bubbles: true }));
}

async function take(thumbs, file) {
  const picture = await shrink(file), key = uuid7();
  thumb(thumbs, key, picture);
  const url = `${ticketAddress()}/photos`;
  try {
    const bytes = await picture.arrayBuffer(); // some phones lose Blobs that a database holds
    await store.keep({ key, ticket: ticketId(), kind: "photo", step: "", url, bytes, type: picture.type, build });
    notes.get(key).dispatchEvent(new CustomEvent("photo:kept", { bubbles: true }));
    drain(ticketId()).catch(() => {}); // the next picture is kept before this one has gone
  } catch (error) {
    if (error?.name === "QuotaExceededError") tell(key, "full");
    await straight(url, key, picture);
  }
}

/** Where the phone keeps nothing: from the page's memory, until the server repeats the key. */
async function straight(url, key, picture) {
  const body = new FormData();
  body.append("photo", picture, "photo.jpg");
  const headers = { Device: device(), "Idempotency-Key": key };
  try {
    const answer = await line.fetch(url, { method: "POST", body, headers, credentials: "same-origin", redirect: "manual" });
    if (answer.headers.get("Saved-Key") === key) return tell(key, "stored");
    if ([400, 413, 415].includes(answer.status)) return tell(key, "refused");
  } catch { /* the line is down: again below */ }
  setTimeout(straight, AGAIN, url, key, picture);
}

export async function takePhotos(box) {
  const thumbs = box.querySelector(".thumbs");
  document.addEventListener("entry:sent", ({ detail }) => detail.kind === "photo" && tell(detail.key, detail.outcome));
  for (const input of all("input[type=file]", box)) {
    input.addEventListener("change", async () => {
      const files = [...input.files];
      input.value = ""; // the same picture may be chosen again, and the whole form stays small
      for (const file of files) await take(thumbs, file);
    });
  }
  const kept = await store.of(ticketId()).catch(() => []);
  for (const entry of kept.filter((one) => one.kind === "photo")) {
    thumb(thumbs, entry.key, new Blob([entry.bytes], { type: entry.type }));
    tell(entry.key, entry.state === "refused" ? "refused" : "waiting");
  }
}
