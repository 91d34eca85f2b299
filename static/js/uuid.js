/** UUIDv7 (RFC 9562, 5.7) and the name of this device. crypto.randomUUID is missing on plain http. */

export function uuid7(now = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let i = 0; i < 6; i++) bytes[i] = Math.floor(now / 2 ** (8 * (5 - i))) & 0xff;
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

let kept = "";

/** The same id for every request from this browser, as long as it keeps its storage. */
export function device() {
  try {
    kept ||= localStorage.getItem("device") || "";
    if (!kept) localStorage.setItem("device", (kept = uuid7()));
  } catch {
    kept ||= uuid7(); // storage refused: the id lives as long as the page
  }
  return kept;
}
