/** The installed app: its worker, its new versions, its storage. Pages that hold no form may change the version. */
import { word } from "./dom.js";

/** Register the worker. Resolves to its registration, or to nothing where there is none (plain http). */
export async function install(root) {
  if (!("serviceWorker" in navigator)) return undefined;
  try {
    return await navigator.serviceWorker.register(`${root}/sw.js`, { scope: `${root}/`, updateViaCache: "none" });
  } catch {
    return undefined;
  }
}

/** A new version waits until somebody on the board asks for it. */
export function offerUpdate(registration, place) {
  const show = () => (place.hidden = !registration.waiting);
  registration.addEventListener("updatefound", () => {
    registration.installing?.addEventListener("statechange", show);
  });
  place.querySelector("button").addEventListener("click", () => {
    navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
    registration.waiting?.postMessage("take over");
  });
  show();
}

/** Ask the worker to have the blank wizard ready; it can fetch it only where somebody is signed in. */
export const makeReady = (registration) => registration.active?.postMessage("make ready");

/** Ask once that the phone does not throw away what it keeps. */
export async function persist() {
  if (!navigator.storage?.persist || (await navigator.storage.persisted())) return;
  if (localStorage.getItem("asked to persist")) return;
  localStorage.setItem("asked to persist", "yes");
  await navigator.storage.persist();
}

/** Say how well this phone can do without a line. */
export function sayHow(place) {
  const name = window.isSecureContext ? "" : "plainHttp";
  place.hidden = !name;
  if (name) place.querySelector("span").textContent = word(name);
}
