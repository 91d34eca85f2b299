/**
 * What one phone exported, through another: its entries join this phone's own, each under the key that it has,
 * so that what had arrived after all is not stored twice.
 */
import { all } from "./dom.js";
import * as store from "./store.js";

const place = document.getElementById("bring"), told = document.getElementById("told");
const { tickets } = place.dataset;
const ADDRESS = /\/tickets\/([0-9a-f-]{36})\/(?:steps\/[\w-]+|photos)$/;
const KEY = /^[0-9a-f-]{36}$/;

/** An entry as this phone would have made it. Throws where it is none. */
function entryOf(device, { seq, base64, url, ...entry }) {
  const [found, ticket] = ADDRESS.exec(url) || [];
  const photo = entry.kind === "photo";
  if (!found || ticket !== entry.ticket || !KEY.test(entry.key) || photo === !base64) throw new Error("no entry");
  if (!photo && !(entry.kind === "step" && Array.isArray(entry.pairs))) throw new Error("no entry");
  const own = { device, ...entry, url: tickets + found.slice("/tickets/".length), state: "waiting", why: "", changed: Date.now(), warned: 0 };
  return photo ? { ...own, bytes: Uint8Array.from(atob(base64), (one) => one.charCodeAt(0)).buffer } : own;
}

async function bring(file) {
  const { device, entries, drafts } = JSON.parse(await file.text());
  if (!KEY.test(device)) throw new Error("no phone");
  const own = entries.map((entry) => entryOf(device, entry));
  await store.add(own, drafts.filter((one) => own.some((entry) => entry.ticket === one.ticket)));
  return own.length;
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
