"""Where a ticket stands: the states, as the store keeps them, and what the board calls each."""

from __future__ import annotations

from enum import StrEnum

from intake.i18n import N_, _


class TicketState(StrEnum):
    """From the first answer to the instrument handed back."""

    STARTED = "started"
    QUOTED = "quoted"
    UNSENT = "unsent"
    SENT = "sent"
    SEEN = "seen"
    CHOSEN = "chosen"
    QUESTION = "question"
    REFUSED = "refused"
    SIGNED = "signed"
    DONE = "done"
    COLLECTED = "collected"
    ERASED = "erased"


LABELS: dict[str, str] = {
    TicketState.STARTED: N_("started"),
    TicketState.QUOTED: N_("quoted"),
    TicketState.UNSENT: N_("not delivered"),
    TicketState.SENT: N_("sent"),
    TicketState.SEEN: N_("seen"),
    TicketState.CHOSEN: N_("chosen"),
    TicketState.QUESTION: N_("question"),
    TicketState.REFUSED: N_("said no"),
    TicketState.SIGNED: N_("said yes"),
    TicketState.DONE: N_("done"),
    TicketState.COLLECTED: N_("handed back"),
    TicketState.ERASED: N_("erased"),
}

ANSWERING = (
    TicketState.QUOTED,
    TicketState.UNSENT,
    TicketState.SENT,
    TicketState.SEEN,
    TicketState.CHOSEN,
    TicketState.QUESTION,
    TicketState.REFUSED,
    TicketState.SIGNED,
)
"""While the quote is with the customer, each further than the one before."""
AGREED = (TicketState.SIGNED, TicketState.DONE, TicketState.COLLECTED)
"""From the customer's yes on: what was agreed stands until a revised quote asks anew."""
ANSWERED = ANSWERING[1:]
"""What the board opens at the quote."""


def label(state: str) -> str:
    """What the board calls the state."""
    return _(LABELS.get(state, state))
