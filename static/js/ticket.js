/** Where this ticket lives. A blank wizard has no id yet: the phone makes it. */
import { uuid7 } from "./uuid.js";

const form = document.getElementById("wizard");
let id = form.dataset.ticket;

export function ticketAddress() {
  id ||= uuid7();
  return form.dataset.tickets + id;
}

/** An address of the blank wizard ("…/tickets/new/steps/neck") as this ticket's. */
export const addressed = (url) => url.replace(`${form.dataset.tickets}new`, ticketAddress());
