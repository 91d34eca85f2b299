"""Tickets: one instrument, one visit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlite_utils import Database

from intake.store import search, sql
from intake.store.ticket_state import ANSWERED, TicketState, label
from intake.store.timestamps import stamp

PAGE = 60
LAST = 2**62
"""Above every number."""


@dataclass(frozen=True)
class Ticket:
    """What the board needs to know. `total` is a decimal string, `ready` an ISO date; None before a price."""

    id: str
    number: int
    created: str
    updated: str
    name: str
    phone: str
    family: str
    serial: str
    state: str
    language: str
    total: str | None
    currency: str | None
    ready: str | None

    @property
    def customer_name(self) -> str:
        return self.name

    @property
    def state_label(self) -> str:
        """What the board calls its state."""
        return label(self.state)

    @property
    def is_answered(self) -> bool:
        """Whether the quote has gone out, or came back."""
        return self.state in ANSWERED


def find(db: Database, ticket: str) -> Ticket | None:
    """The ticket with that id."""
    rows = sql.select(db, "tickets", "id = ?", [ticket])
    return Ticket(**rows[0]) if rows else None


def board(db: Database, words: str = "", limit: int = PAGE, before: int = LAST) -> list[Ticket]:
    """Tickets whose number is below `before`, newest first.

    `words` wants tickets that have all of them, in names, numbers, serials or answers; a ticket's own number
    brings it first.
    """
    if not words.strip():
        latest = sql.select(db, "tickets", "number < ?", [before], order_by="number desc", limit=limit)
        return [Ticket(**row) for row in latest]
    own = _number(words)
    found = [number for number in search.numbers(db, words, before, limit) if number != own]
    rows = _numbered(db, found)
    if before == LAST:
        rows = [*_numbered(db, [own]), *rows]
    return [Ticket(**row) for row in rows]


def in_state(db: Database, state: str) -> list[Ticket]:
    """Tickets in that state, the one that was to be ready first at the top."""
    rows = sql.select(db, "tickets", "state = ?", [state], order_by="ready, number")
    return [Ticket(**row) for row in rows]


def _numbered(db: Database, numbers: list[int]) -> list[dict[str, Any]]:
    marks = ", ".join("?" * len(numbers))
    return sql.select(db, "tickets", f"number in ({marks})", numbers, order_by="number desc")


def ensure(db: Database, ticket: str, now: datetime) -> bool:
    """Open the ticket unless it stands already; the server gives the number. True if it is new."""
    if db.execute("select 1 from tickets where id = ?", [ticket]).fetchone():
        return False
    (number,) = db.execute("select coalesce(max(number), 0) + 1 from tickets").fetchone()
    sql.insert(
        db,
        "tickets",
        {
            "id": ticket,
            "number": number,
            "created": stamp(now),
            "updated": stamp(now),
            "name": "",
            "phone": "",
            "family": "",
            "serial": "",
            "state": TicketState.STARTED,
            "language": "",
        },
    )
    return True


def change(db: Database, ticket: str, now: datetime, **columns: Any) -> None:
    """Set columns of the ticket and the time of its last change; what it says now can be found."""
    sql.update(db, "tickets", ticket, {"updated": stamp(now), **columns})
    search.refresh(db, ticket)


def _number(words: str) -> int:
    digits = words.strip().lstrip("#")
    return int(digits) if digits.isascii() and digits.isdigit() and len(digits) < 16 else -1
