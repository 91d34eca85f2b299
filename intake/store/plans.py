"""The jobs of each ticket's price, for the calendar: what its ready day is worked out from."""

from __future__ import annotations

from collections.abc import Iterable

from sqlite_utils import Database

from intake.store import sql


def save(db: Database, ticket: str, blocks: str) -> None:
    """Write it in place of an earlier one."""
    sql.save(db, "plans", {"ticket": ticket, "blocks": blocks})


def of_tickets(db: Database, tickets: Iterable[str]) -> dict[str, str]:
    """Ticket → its jobs, for those that have any."""
    ids = list(tickets)
    marks = ", ".join("?" * len(ids))
    rows = db.execute(f"select ticket, blocks from plans where ticket in ({marks})", ids)  # noqa: S608
    return dict(rows.fetchall())
