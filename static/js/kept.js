/** What the phone keeps, for people: listed on the board, taken off the phone as a file. */
import { all, counted, make, word } from "./dom.js";
import { warn, watch, wipedAt, withdrawn } from "./lasting.js";
import * as old from "./old-entries.js";
import { everything } from "./held.js";
import * as outbox from "./outbox.js";
import { device } from "./uuid.js";
import * as waiting from "./waiting.js";

/** The list under `place`, kept up to date. `tickets` is the address that a ticket's id is put after. */
export function showKept(place, tickets) {
  const show = () => list(place, tickets).catch(() => (place.hidden = true));
  document.addEventListener("kept:changed", soon(show));
  document.addEventListener("entry:sent", soon(show));
  watch().then(show);
}

function soon(work) {
  let timer = 0;
  return () => {
    clearTimeout(timer);
    timer = setTimeout(work, 60);
  };
}

async function list(place, tickets) {
  const { entries, drafts } = await waiting.all();
  if (outbox.status === "revoked") withdrawn();
  place.hidden = !entries.length;
  const items = place.querySelector(".tickets");
  const ids = [...new Set(entries.map((one) => one.ticket))];
  items.replaceChildren(...ids.map((id) => item(
    id, entries.filter((one) => one.ticket === id), drafts.find((one) => one.ticket === id), tickets,
  )));
  place.querySelector("[data-why]").textContent = entries.length ? why(entries) : "";
  place.querySelector("[data-signin]").hidden = outbox.status !== "signin";
  place.querySelector("[data-wipe]").hidden = !wipedAt();
  navigator.setAppBadge?.(ids.length).catch(() => {});
}

function why(entries) {
  if (wipedAt()) return word("revoked").replace("{time}", new Date(wipedAt()).toLocaleTimeString([], { timeStyle: "short" }));
  const old = warn(entries);
  if (outbox.status === "signin") return [word("signin"), old].join(" ").trim();
  if (entries.some((one) => one.state === "refused")) return [word("refusedEntry"), old].join(" ").trim();
  return old || word("goes");
}

function item(id, entries, draft, tickets) {
  const refused = entries.find((one) => one.state === "refused");
  const name = draft?.name || word("noName");
  const link = make(
    "a",
    { class: "ticket", href: tickets + id },
    make("b", { class: "no" }, draft?.title?.startsWith("#") ? draft.title : "–"),
    make("span", {}, make("b", {}, name), draft?.family ? ` · ${draft.family}` : ""),
    make("span", { class: "pill phone" }, word("pill")),
    make("small", {}, `${counted(entries)} · ${new Date(Math.min(...entries.map((one) => one.made))).toLocaleString()}`),
  );
  const row = make("li", {}, link);
  if (refused) row.append(standing(entries.filter((one) => one.state === "refused")));
  return row;
}

/** What the shop will not have: what it said, and what can be done. */
function standing(refused) {
  const [{ ticket, why: says }] = refused;
  const again = make("button", { type: "button", class: "btn" }, word("again"));
  again.addEventListener("click", async () => {
    await waiting.again(ticket);
    document.querySelector("[data-send]").click();
  });
  const away = make("button", { type: "button", class: "btn" }, word("forget"));
  away.addEventListener("click", () => window.confirm(word("sure")) && waiting.throwAway(ticket));
  return make("div", { class: "standing" }, make("p", {}, says.slice(0, 300)), make("p", { class: "two" }, again, away));
}

/** Everything on this phone as one JSON file, photos as base64. */
export async function asFile() {
  const held = await everything();
  const text = ({ bytes, small, ...photo }) => ({ ...photo, base64: bytes && base64(bytes), small64: small && base64(small) });
  const content = {
    made: new Date().toISOString(), from: location.origin, device: device(), ...held, photos: held.photos.map(text),
    entries: (await old.all()).map((entry) => (entry.bytes ? text(entry) : entry)), old: await old.drafts(),
  };
  return new Blob([JSON.stringify(content, null, 1)], { type: "application/json" });
}

function base64(bytes) {
  const parts = [];
  for (let at = 0; at < bytes.byteLength; at += 0x6000) parts.push(String.fromCharCode(...new Uint8Array(bytes, at, Math.min(0x6000, bytes.byteLength - at))));
  return btoa(parts.join(""));
}

export async function exportAll() {
  const link = make("a", { href: URL.createObjectURL(await asFile()), download: `tallyfret-phone-${new Date().toISOString().slice(0, 16).replace(":", "")}.json` });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

/** Wire the buttons of the list; `send` sends what waits. */
export function listen(place, send) {
  const act = (name, work) => all(`[data-${name}]`, place).forEach((button) => button.addEventListener("click", work));
  act("send", send);
  act("export", exportAll);
  act("wipe", () => window.confirm(word("sure")) && waiting.wipe());
}
