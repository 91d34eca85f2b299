"""The discount on a ticket: one at most, with its reason and who gave it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime

from sqlite_utils import Database

from intake.store import sql
from intake.store.timestamps import stamp


@dataclass(frozen=True)
class Given:
    """`rate` is a share of the sum, `amount` money, both as decimal strings; `role` is that of `who`."""

    ticket: str
    rate: str
    amount: str
    reason: str
    who: str
    role: str = ""
    at: str = ""


def find(db: Database, ticket: str) -> Given | None:
    """The ticket's discount."""
    rows = sql.select(db, "discounts", "ticket = ?", [ticket])
    return Given(**rows[0]) if rows else None


def give(db: Database, given: Given, now: datetime) -> None:
    """Write it in place of an earlier one."""
    sql.save(db, "discounts", {**asdict(given), "at": stamp(now)})


def withdraw(db: Database, ticket: str) -> bool:
    """Take it back; false if there was none."""
    return sql.delete(db, "discounts", "ticket = ?", [ticket]) > 0
