"""The board's ready days, worked out anew at each look: with a yes now, behind what is on the bench now."""

from __future__ import annotations

import json
from collections.abc import Sequence
from contextlib import suppress
from datetime import date, timedelta
from fractions import Fraction
from functools import lru_cache

from sqlite_utils import Database

from intake.quoting.calendar import Bench, NeverOpenError
from intake.quoting.model import Block, Offer
from intake.quoting.schedule import ready_day
from intake.services.commitments import bookings
from intake.services.context import Context
from intake.store import bench, plans
from intake.store.ticket_state import AGREED, TicketState
from intake.store.tickets import Ticket

FIXED = (*AGREED, TicketState.ERASED)


def keep_plan(db: Database, ticket: str, offer: Offer) -> None:
    """The jobs of the offer, for the next look at the board."""
    plans.save(db, ticket, json.dumps([_packed(block) for block in offer.blocks]))


def ready_days(ctx: Context, db: Database, found: Sequence[Ticket]) -> dict[str, str]:
    """Ticket → ISO day on which it is ready; what was agreed keeps its day."""
    shown = {ticket.id: ticket.ready for ticket in found if ticket.ready}
    not_agreed = [ticket.id for ticket in found if ticket.ready and ticket.state not in FIXED]
    on_bench = bench.tickets_among(db, not_agreed)
    for id, blocks in plans.of_tickets(db, not_agreed).items():
        own = id if id in on_bench else ""  # a ticket does not stand in its own way
        free = ctx.summaries.bench_of(ctx.today, bookings(db, own, ctx.book, ctx.wall))
        with suppress(NeverOpenError):
            shown[id] = _day(blocks, free, ctx.today)
    return shown


@lru_cache(maxsize=512)
def _day(blocks: str, free: Bench, today: date) -> str:
    """Kept while the bench stays the same: a board is looked at more often than it changes."""
    return ready_day([_block(*one) for one in json.loads(blocks)], free, today).isoformat()


def _packed(block: Block) -> list[object]:
    wait = block.wait // timedelta(seconds=1)
    return [block.job, str(block.hours), wait, block.wait_kind, block.splits, list(block.after)]


def _block(job: str, hours: str, wait: int, kind: str, splits: bool, after: list[str]) -> Block:
    return Block(job, Fraction(hours), timedelta(seconds=wait), kind, splits, tuple(after))
