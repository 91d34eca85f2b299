/**
 * What one phone exported, through another: its entries join this phone's own, each under the key that it has,
 * so that what had arrived after all is not stored twice.
 */
import { all } from "./dom.js";
import { fetched } from "./fetched.js";
import { bringIn } from "./held.js";

const place = document.getElementById("bring"), told = document.getElementById("told");
const ADDRESS = /\/tickets\/([0-9a-f-]{36})\/(?:steps\/[\w-]+|photos)$/;
const ID = /^[0-9a-f-]{36}$/;
const TEXTS = ["part", "value", "base", "by", "act"];

const bytesOf = (base64) => Uint8Array.from(atob(base64), (one) => one.charCodeAt(0)).buffer;
const fail = () => {
  throw new Error("no file of ours");
};

/** An edit as it was made: its id, log and number stay, so that what had arrived after all is known again. */
function editOf(edit) {
  const { id, log, seq, ticket } = edit;
  if (!ID.test(id) || !ID.test(ticket) || !(log === "" || ID.test(log)) || !Number.isInteger(seq)) fail();
  if (TEXTS.some((name) => typeof edit[name] !== "string")) fail();
  return { ...edit, warned: 0, page: "", state: edit.state === "stored" ? "stored" : "waiting", why: "" };
}

function photoOf({ base64, small64, ...photo }) {
  if (![photo.id, photo.key, photo.ticket].every((id) => ID.test(id)) || !base64) fail();
  return { ...photo, bytes: bytesOf(base64), small: small64 && bytesOf(small64), state: "waiting", why: "", warned: 0 };
}

/** A whole step or photo of an earlier version, as this phone would have made it. */
function entryOf(device, { seq, base64, url, ...entry }) {
  const [found, ticket] = ADDRESS.exec(url) || [];
  const photo = entry.kind === "photo";
  if (!found || ticket !== entry.ticket || !ID.test(entry.key) || photo === !base64) fail();
  if (!photo && !(entry.kind === "step" && Array.isArray(entry.pairs))) fail();
  const own = { device, ...entry, url: place.dataset.tickets + found.slice("/tickets/".length), state: "waiting", why: "", changed: Date.now(), warned: 0 };
  return photo ? { ...own, bytes: bytesOf(base64) } : own;
}

async function bring(file) {
  const { edits: answers = [], photos = [], drafts = [], entries = [], device } = JSON.parse(await file.text());
  if (!ID.test(device)) fail();
  const whole = entries.map((entry) => entryOf(device, entry));
  const own = { edits: answers.map(editOf), photos: photos.map(photoOf) };
  const tickets = new Set([...own.edits, ...own.photos].map((one) => one.ticket));
  if (whole.length) await (await fetched("old-entries")).bringIn(whole);
  await bringIn({ ...own, drafts: drafts.filter((draft) => tickets.has(draft.ticket)) });
  return own.edits.filter((edit) => edit.state !== "stored").length + own.photos.length + whole.length;
}

function say(name, number = 0) {
  told.hidden = false;
  told.textContent = place.dataset[name].replace("{n}", number);
}

for (const input of all("input[type=file]", place)) {
  input.addEventListener("change", async () => {
    const [file] = input.files;
    input.value = "";
    if (!file) return;
    try {
      say("brought", await bring(file));
      document.querySelector("[data-send]").click();
    } catch (error) {
      say(error.name === "QuotaExceededError" ? "full" : "wrong");
    }
  });
}
