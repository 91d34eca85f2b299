/** Photos: made small on the phone, then sent one by one, each under its own key until it is kept. */
import { post } from "./adaptor.js";
import { all, make, word } from "./dom.js";
import { uuid7 } from "./uuid.js";

const LONGEST = 1600;
const QUALITY = 0.82;
const AGAIN = 15000;

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

async function send(photo) {
  const body = new FormData();
  body.append("photo", photo.picture, "photo.jpg");
  const outcome = await post(photo.url(), body, photo.key);
  photo.note.textContent = outcome === "kept" ? "" : word(outcome === "failed" ? "photoWaits" : "photoRefused");
  photo.note.hidden = outcome === "kept";
  if (outcome === "kept") photo.note.dispatchEvent(new CustomEvent("photo:kept", { bubbles: true }));
  if (outcome === "failed") setTimeout(send, AGAIN, photo);
}

export function takePhotos(box, url) {
  const thumbs = box.querySelector(".thumbs");
  for (const input of all("input[type=file]", box)) {
    input.addEventListener("change", async () => {
      const files = [...input.files];
      input.value = ""; // the same picture may be chosen again, and the whole form stays small
      for (const file of files) {
        const picture = await shrink(file);
        const note = make("small", { role: "status" }, word("photoWaits"));
        const image = make("img", { src: URL.createObjectURL(picture), alt: "" });
        thumbs.append(make("li", {}, image, note));
        await send({ picture, note, url, key: uuid7() });
      }
    });
  }
}
