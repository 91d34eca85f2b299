/** The board, with or without a line: what this phone keeps, and the app it is part of. */
import { install, makeReady, offerUpdate, persist, sayHow } from "./app.js";
import { listen, showKept } from "./kept.js";
import * as outbox from "./outbox.js";
import * as waiting from "./waiting.js";

const place = document.getElementById("kept");
const { root, offline, stays, enrolled } = place.dataset;

/** Send what is kept; what has come shows on the board as the server gives it. Resolves to true once nothing waits. */
async function send() {
  const before = (await waiting.all()).entries.length;
  const done = await outbox.drain();
  if (stays) return done;
  if ((await waiting.all()).entries.length < before || (offline && (await outbox.answers(`${root}/ping`)))) again();
  return done && !offline;
}

const again = () => (location.pathname === `${root}/offline` ? location.replace(`${root}/`) : location.reload());

if (enrolled) outbox.enrolled();
listen(place, send);
showKept(place, `${root}/tickets/`);
sayHow(document.getElementById("plain-http"));
outbox.keepTrying(send);

const registration = await install(root);
if (registration) {
  offerUpdate(registration, document.getElementById("new-version"));
  navigator.serviceWorker.ready.then(makeReady);
  persist().catch(() => {});
}
