/** The last step: the quote as it would be now, and handing it over. */
import { trigger } from "./adaptor.js";
import { word } from "./dom.js";
import * as saving from "./saving.js";
import { ticketAddress } from "./ticket.js";
import { uuid7 } from "./uuid.js";

const ASK_AGAIN = 5000;
const place = document.getElementById("summary");
let priceOwed = false;

/** Fetch the quote as it is now; while the line is down say so, and ask again when the saves are through. */
export async function price() {
  priceOwed = !(await saving.flushed());
  if (priceOwed) noPrice();
  else trigger(place, "ask");
}

function noPrice() {
  if (!place.childElementCount) place.textContent = word("price");
}

let handing = false;

/** Freeze the quote, once for one tap however often it bounces; whoever comes back may do it again. */
export async function handOver() {
  if (handing || !(await saving.flushed()) || handing) return;
  handing = true;
  const freeze = document.getElementById("hand-over");
  freeze.action = ticketAddress() + "/quotes";
  freeze.elements.key.value = uuid7();
  freeze.submit();
}

const inSight = () => place.closest(".now");

window.addEventListener("pageshow", () => (handing = false));
document.addEventListener("step:saved", () => priceOwed && !saving.unsent() && inSight() && price());
document.addEventListener("part:failed", () => {
  noPrice();
  setTimeout(() => inSight() && price(), ASK_AGAIN);
});
