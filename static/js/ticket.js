/** Where this ticket lives. A blank wizard has no id yet: the phone makes it, or finds it in the address. */
import { uuid7 } from "./uuid.js";

const form = document.getElementById("wizard");
const { tickets } = form.dataset;
const inAddress = location.pathname.startsWith(tickets) ? location.pathname.slice(tickets.length).slice(0, 36) : "";
let id = form.dataset.ticket || (inAddress.length === 36 ? inAddress : "");

/** The blank form stands in for a ticket that only this phone can fill in: there was no line. */
export const standsIn = !form.dataset.ticket && Boolean(id);

/** What the page was made from. */
export const build = document.documentElement.dataset.build || "";

export const ticketId = () => (id ||= uuid7());
export const ticketAddress = () => tickets + ticketId();

/** An address of the blank wizard ("…/tickets/new/steps/neck") as this ticket's. */
export const addressed = (url) => url.replace(`${tickets}new`, ticketAddress());
