"""What every save writes: the step's entry, and what the board shows of the ticket."""

from __future__ import annotations

from collections.abc import Sequence

from sqlite_utils import Database

from intake.services import edits
from intake.services.context import Context
from intake.services.edits import Sender, Sent, Taken
from intake.services.erasure import refuse_erased
from intake.services.estimates import NO_PRICE
from intake.services.ready_days import keep_plan
from intake.services.ticket_view import TicketView
from intake.store import events, tickets
from intake.store.events import By
from intake.store.ticket_state import AGREED

BOARD_WORDS = {"name": "customer_name", "phone": "customer_phone", "family": "family", "serial": "serial"}


def take_edits(
    ctx: Context, db: Database, ticket: str, sent: Sequence[Sent], by: By, device: str = ""
) -> Taken:
    """Open the ticket if need be and take the edits in; `device` is what the browser calls itself."""
    refuse_erased(db, ticket)
    now = ctx.now()
    if tickets.ensure(db, ticket, now):
        events.record(db, "ticket opened", now, ticket=ticket, by=by)
    return edits.take(db, ctx.book, ticket, sent, Sender(by.who, by.device, device), now)


def _word(sheet: TicketView, id: str) -> str:
    """The answer; what stands, where the book in force does not ask for it now."""
    held = sheet.parts.get(id)
    kept = held.value if held and id not in sheet.desk.book.questions else ""
    return str(sheet.walkin.answers.get(id, kept))


def write_words(ctx: Context, db: Database, ticket: str, sheet: TicketView) -> None:
    """What the board shows of the ticket."""
    words = {column: _word(sheet, id) for column, id in BOARD_WORDS.items()}
    price = sheet.summary.board_price() if sheet.summary else NO_PRICE
    now = tickets.find(db, ticket)
    if now and now.state in AGREED:  # what was agreed stands until a revised quote asks anew
        price = {}
    elif sheet.summary:
        keep_plan(db, ticket, sheet.summary.usual)
    tickets.change(db, ticket, ctx.now(), **words, **price)
