/** The last step: the quote as it would be now, and handing it over. */
import { trigger } from "./adaptor.js";
import { answers } from "./outbox.js";
import * as saving from "./saving.js";
import { ticketAddress } from "./ticket.js";
import { uuid7 } from "./uuid.js";

const ASK_AGAIN = 5000;
const place = document.getElementById("summary");
const unpriced = document.getElementById("unpriced");
let priceOwed = false;
/** The offer that was tapped, perhaps before this module came: a quote fetched anew goes on showing it. */
let tapped = place.querySelector("[name=shown]:checked:not([checked])")?.value;

/** Fetch the quote as it is now; while the line is down say so, and ask again when the saves are through. */
export async function price() {
  if (await saving.flushed()) trigger(place, "ask");
  else priced(false);
}

/** A quote from before the line went is not what this walk-in comes to: it makes way for what can be done now. */
function priced(known) {
  if (known) document.getElementById("tried").textContent = "";
  priceOwed = !known;
  place.hidden = !known;
  unpriced.hidden = known;
  if (!known) document.getElementById("range").textContent = "–";
}

let handing = false;

/** Freeze the quote, once for one tap however often it bounces; whoever comes back may do it again. */
export async function handOver() {
  if (handing) return;
  if (!(await saving.flushed()) || !(await answers(unpriced.dataset.ping))) {
    priced(false);
    unpriced.focus();
    const tried = document.getElementById("tried");
    tried.textContent = tried.dataset.says.replace("{time}", new Date().toLocaleTimeString(document.documentElement.lang));
    return price();
  }
  if (handing) return;
  handing = true;
  const freeze = document.getElementById("hand-over");
  freeze.action = ticketAddress() + "/quotes";
  freeze.elements.key.value = uuid7();
  freeze.submit();
}

place.addEventListener("change", ({ target }) => target.name === "shown" && (tapped = target.value));
new MutationObserver(() => {
  for (const offer of place.querySelectorAll("[name=shown]")) if (offer.value === tapped) offer.checked = true;
}).observe(place, { childList: true, subtree: true });

const inSight = () => place.closest(".now");

window.addEventListener("pageshow", () => (handing = false));
document.addEventListener("step:saved", () => priceOwed && inSight() && price());
document.addEventListener("step:unsaved", () => priced(false));
document.addEventListener("part:shown", () => priced(true));
document.addEventListener("part:failed", () => {
  priced(false);
  setTimeout(() => inSight() && price(), ASK_AGAIN);
});
