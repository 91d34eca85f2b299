/** Photos on their way: one by one, small where the phone can make them so. */
import * as edits from "./edits.js";
import { fetched } from "./fetched.js";
import { alone, erased, headersOf, line, said, tickets, verdict } from "./outbox.js";

const { shrink } = await fetched("shrink");
const PATIENCE = 90000; // ms

/** A photo goes out small, and as often as it must the same bytes; what cannot be made small goes as it came. */
async function smallOf(photo) {
  if (photo.small) return new Blob([photo.small], { type: "image/jpeg" });
  const original = new Blob([photo.bytes], { type: photo.type }), small = await shrink(original);
  if (small !== original) await edits.keepSmall(photo.id, await small.arrayBuffer());
  return small;
}

export function sendPhoto(id) {
  return alone("photo", async () => {
    const photo = await edits.photo(id);
    if (photo?.state !== "waiting") return "none";
    let outcome = "down", as;
    try {
      const body = new FormData();
      body.append("id", id);
      body.append("photo", await smallOf(photo), "photo.jpg");
      const answer = await line.fetch(`${tickets}${photo.ticket}/photos`, {
        method: "POST", body, headers: headersOf(photo.key), credentials: "same-origin", redirect: "manual", signal: AbortSignal.timeout(PATIENCE),
      });
      outcome = verdict(answer, photo.key);
      if (outcome === "stored") as = (await answer.json()).id;
      if (outcome === "refused") await edits.markPhoto(id, { state: "refused", why: await answer.text() });
    } catch {
      outcome = "down";
    }
    if (outcome === "stored") await edits.dropPhoto(id);
    if (outcome === "erased") await erased(photo.ticket);
    said(outcome, { ticket: photo.ticket, kind: "photo", id, as });
    return outcome;
  });
}
