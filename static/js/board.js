/** The board, with or without a line: what this phone keeps, and the app it is part of. */
import { install, makeReady, offerUpdate, persist, sayHow } from "./app.js";
import { listen, showKept } from "./kept.js";
import * as outbox from "./outbox.js";
import * as store from "./store.js";

const place = document.getElementById("kept");
const { root } = place.dataset;

listen(place);
showKept(place, `${root}/tickets/`);
sayHow(document.getElementById("plain-http"));
outbox.keepTrying(async () => {
  const before = (await store.all()).length;
  const done = await outbox.drain();
  const came = before && !(await store.all()).length;
  if (came && !document.getElementById("kept").dataset.offline) location.reload(); // the board shows what has come
  return done;
});

const registration = await install(root);
if (registration) {
  offerUpdate(registration, document.getElementById("new-version"));
  navigator.serviceWorker.ready.then(makeReady);
  persist().catch(() => {});
}
if (place.dataset.offline) window.addEventListener("online", () => location.reload());
