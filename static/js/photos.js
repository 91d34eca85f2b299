/** Photos: kept on the phone as they come, then sent one by one, each under its own key. */
import { all, make, word } from "./dom.js";
import { drain, line } from "./outbox.js";
import { shrink } from "./shrink.js";
import * as store from "./store.js";
import { build, ticketAddress, ticketId } from "./ticket.js";
import { device, uuid7 } from "./uuid.js";

const AGAIN = 15000;
const notes = new Map(); // key → the words under that photo

/** A picture in the row, with what has become of it so far. */
function thumb(thumbs, key, picture) {
  const note = make("small", { role: "status" });
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

let unkept = 0; // photos that stand on this page alone: leaving it asks

/** Write a photo to the phone as it came. It is made small when it is sent. */
async function take(thumbs, file) {
  const key = uuid7(), url = `${ticketAddress()}/photos`;
  unkept += 1;
  thumb(thumbs, key, file);
  try {
    const bytes = await file.arrayBuffer(); // some phones lose Blobs that a database holds
    await store.keep({ key, ticket: ticketId(), kind: "photo", step: "", url, bytes, type: file.type, large: true, build });
    unkept -= 1;
    notes.get(key).textContent = word("onPhone");
    notes.get(key).dispatchEvent(new CustomEvent("photo:kept", { bubbles: true }));
    drain(ticketId()).catch(() => {}); // the others are kept meanwhile
  } catch (error) {
    if (error?.name === "QuotaExceededError") tell(key, "full");
    await straight(url, key, await shrink(file));
  }
}

/** Where the phone keeps nothing: from the page's memory, until the server repeats the key. */
async function straight(url, key, picture) {
  const body = new FormData();
  body.append("photo", picture, "photo.jpg");
  const headers = { Device: device(), "Idempotency-Key": key };
  try {
    const answer = await line.fetch(url, { method: "POST", body, headers, credentials: "same-origin", redirect: "manual" });
    const stored = answer.headers.get("Saved-Key") === key;
    if (stored || [400, 413, 415].includes(answer.status)) {
      unkept -= 1;
      return tell(key, stored ? "stored" : "refused");
    }
  } catch { /* the line is down: again below */ }
  setTimeout(straight, AGAIN, url, key, picture);
}

window.addEventListener("beforeunload", (event) => unkept && event.preventDefault());

export async function takePhotos(box) {
  const thumbs = box.querySelector(".thumbs");
  document.addEventListener("entry:sent", ({ detail }) => detail.kind === "photo" && tell(detail.key, detail.outcome));
  for (const input of all("input[type=file]", box)) {
    input.addEventListener("change", async () => {
      const files = [...input.files];
      input.value = ""; // the same picture may be chosen again, and the whole form stays small
      await Promise.all(files.map((file) => take(thumbs, file)));
    });
  }
  const kept = await store.of(ticketId()).catch(() => []);
  for (const entry of kept.filter((one) => one.kind === "photo")) {
    thumb(thumbs, entry.key, new Blob([entry.bytes], { type: entry.type }));
    tell(entry.key, entry.state === "refused" ? "refused" : "waiting");
  }
}
