/** Photos made small for sending. */
const LONGEST = 1600;
const QUALITY = 0.82;

/** A JPEG of at most 1600 px a side, upright and without any metadata; the file itself if it cannot be drawn. */
export async function shrink(file) {
  try {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [Math.round(picture.width * scale), Math.round(picture.height * scale)];
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    return (await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY))) || file;
  } catch {
    return file;
  }
}
