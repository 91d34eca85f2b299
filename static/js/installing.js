/** The page that helps to install: what this phone can do, and the browser's own offer where it makes one. */
import { works } from "./database.js";

const show = (id, on = true) => (document.getElementById(id).hidden = !on);
const { yes, no } = document.querySelector(".facts").dataset;
const say = (id, holds) => (document.getElementById(`fact-${id}`).textContent = holds ? yes : no);

show("installed", matchMedia("(display-mode: standalone)").matches || navigator.standalone === true);
show("plain", !window.isSecureContext);
say("secure", window.isSecureContext);
say("worker", Boolean(navigator.serviceWorker?.controller));
say("store", await works());
say("lasting", Boolean(await navigator.storage?.persisted?.()));

window.addEventListener("beforeinstallprompt", (event) => {
  event.preventDefault();
  show("install");
  document.getElementById("install").addEventListener("click", () => event.prompt(), { once: true });
});
window.addEventListener("appinstalled", () => show("install", false));
