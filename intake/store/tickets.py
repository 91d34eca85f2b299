"""Tickets: one instrument, one visit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlite_utils import Database

from intake.store.times import stamp


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


def find(db: Database, ticket: str) -> Ticket | None:
    """The ticket with that id."""
    rows = list(db.table("tickets").rows_where("id = ?", [ticket]))
    return Ticket(**rows[0]) if rows else None


def board(db: Database, words: str = "", limit: int = 200) -> list[Ticket]:
    """The latest tickets, newest first; `words` filters by name, telephone, number or serial."""
    like = "%" + words.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"
    where = (
        ":words = '' or number = :number"
        " or name || char(10) || phone || char(10) || serial like :like escape '\\'"
    )
    values = {"words": words, "number": _number(words), "like": like}
    rows = db.table("tickets").rows_where(where, values, order_by="number desc", limit=limit)
    return [Ticket(**row) for row in rows]


def ensure(db: Database, ticket: str, now: datetime) -> bool:
    """Open the ticket unless it stands already; the server gives the number. True if it is new."""
    if db.execute("select 1 from tickets where id = ?", [ticket]).fetchone():
        return False
    (number,) = db.execute("select coalesce(max(number), 0) + 1 from tickets").fetchone()
    db.table("tickets").insert(
        {
            "id": ticket,
            "number": number,
            "created": stamp(now),
            "updated": stamp(now),
            "name": "",
            "phone": "",
            "family": "",
            "serial": "",
            "state": "started",
            "language": "en",
        }
    )
    return True


def change(db: Database, ticket: str, now: datetime, **columns: Any) -> None:
    """Set columns of the ticket and the time of its last change."""
    db.table("tickets").update(ticket, {"updated": stamp(now), **columns})


def _number(words: str) -> int:
    digits = words.strip().lstrip("#")
    return int(digits) if digits.isascii() and digits.isdigit() and len(digits) < 16 else -1
