"""A ticket whose customer was erased takes nothing more: a phone may still keep words from before."""

from __future__ import annotations

from flask import abort
from sqlite_utils import Database

from intake.i18n.messages import _
from intake.store import tickets
from intake.store.privacy import ERASED


def refuse_erased(db: Database, ticket: str) -> None:
    """Abort with 404 and a sentence where the customer of the ticket was erased."""
    found = tickets.find(db, ticket)
    if found and found.state == ERASED:
        abort(404, _("The customer of this ticket was erased, so nothing more is kept of it."))
