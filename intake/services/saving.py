"""What every save writes: the step's entry, and what the board shows of the ticket."""

from __future__ import annotations

from sqlite_utils import Database

from intake.services.context import Context
from intake.services.erasure import refuse_erased
from intake.services.estimates import NO_PRICE
from intake.services.ticket_view import TicketView
from intake.store import events, steps, tickets
from intake.store.events import By
from intake.store.steps import Entry, Saved

AGREED = ("signed", "done", "collected")
BOARD_WORDS = {"name": "customer_name", "phone": "customer_phone", "family": "family", "serial": "serial"}


def save_entry(ctx: Context, db: Database, ticket: str, entry: Entry, based_on: int, by: By) -> Saved:
    """Open the ticket if need be, store the entry, and write down that it came."""
    refuse_erased(db, ticket)
    now = ctx.now()
    if tickets.ensure(db, ticket, now):
        events.record(db, "ticket opened", now, ticket=ticket, by=by)
    saved = steps.save(db, ticket, entry, based_on, now)
    what = "step clashed" if saved.refused else "step saved"
    events.record(db, what, now, ticket=ticket, by=by, step=entry.step, revision=saved.entry.revision)
    return saved


def write_words(ctx: Context, db: Database, ticket: str, sheet: TicketView) -> None:
    """What the board shows of the ticket."""
    words = {column: str(sheet.walkin.answers.get(id, "")) for column, id in BOARD_WORDS.items()}
    price = sheet.summary.board_price() if sheet.summary else NO_PRICE
    now = tickets.find(db, ticket)
    if now and now.state in AGREED:  # what was agreed stands until a revised quote asks anew
        price = {}
    tickets.change(db, ticket, ctx.now(), **words, **price)
