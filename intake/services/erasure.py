"""A ticket whose customer was erased takes nothing more: a phone may still keep words from before."""

from __future__ import annotations

from sqlite_utils import Database

from intake.i18n import _
from intake.services.errors import GoneError
from intake.store import tickets
from intake.store.ticket_state import TicketState


def refuse_erased(db: Database, ticket: str) -> None:
    """Raise GoneError, with a sentence, where the customer of the ticket was erased: a phone drops what it
    has of it."""
    found = tickets.find(db, ticket)
    if found and found.state == TicketState.ERASED:
        raise GoneError(_("The customer of this ticket was erased, so nothing more is kept of it."))
