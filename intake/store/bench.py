"""What accepted tickets have on the bench, by day, until somebody says that the work is done."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from sqlite_utils import Database

from intake.store import sql

HOUR = 3600


@dataclass(frozen=True)
class OnBench:
    """An accepted ticket: its bench hours still to come, and those of them whose day has gone by.

    `goes_on`: some of it was for today or earlier, and some is for later.
    """

    ticket: str
    number: int
    name: str
    family: str
    ready: date
    left: Fraction
    behind: Fraction
    goes_on: bool


def put(db: Database, ticket: str, pieces: Iterable[tuple[date, Fraction]], ready: date) -> None:
    """Book the ticket's bench hours by day, in place of what it had booked."""
    take_off(db, ticket)
    by_day: dict[date, Fraction] = {}
    for day, hours in pieces:
        by_day[day] = by_day.get(day, Fraction(0)) + hours
    for day, hours in by_day.items():
        row = {"day": day.isoformat(), "seconds": round(hours * HOUR), "ready": ready.isoformat()}
        sql.insert(db, "bench", {"ticket": ticket, **row})


def take_off(db: Database, ticket: str) -> bool:
    """The ticket's work is done, or not wanted any more; false if it had nothing on the bench."""
    return sql.delete(db, "bench", "ticket = ?", [ticket]) > 0


def tickets_among(db: Database, tickets: Sequence[str]) -> set[str]:
    """Those of the tickets that have something on the bench."""
    marks = ", ".join("?" * len(tickets))
    rows = db.execute(f"select distinct ticket from bench where ticket in ({marks})", tickets)  # noqa: S608
    return {ticket for (ticket,) in rows}


def part_done(db: Database, ticket: str, today: date) -> bool:
    """What was planned up to today is done; false if that was nothing, or would be all that is left."""
    here = [ticket, today.isoformat()]
    if db.execute("select 1 from bench where ticket = ? and day > ?", here).fetchone() is None:
        return False
    return sql.delete(db, "bench", "ticket = ? and day <= ?", here) > 0


def taken(db: Database, ticket: str, today: date) -> tuple[tuple[str, int], ...]:
    """What others than that ticket have on the bench from today on: ISO days with seconds of bench work.

    What was planned for a day gone by and was not said to be done is still to be done: it comes next.
    """
    rows = db.execute(
        "select max(day, :today) as on_day, sum(seconds) from bench"
        " where ticket <> :ticket group by on_day order by on_day",
        {"today": today.isoformat(), "ticket": ticket},
    )
    return tuple(rows)


def tickets_on(db: Database, today: date) -> list[OnBench]:
    """Every ticket on the bench, the one that is due first at the top."""
    rows = db.execute(
        "select ticket, number, name, family, bench.ready,"
        " sum(seconds), sum(case when day < :today then seconds else 0 end),"
        " min(day) <= :today and max(day) > :today"
        " from bench join tickets on tickets.id = ticket group by ticket order by bench.ready, number",
        {"today": today.isoformat()},
    )
    return [
        OnBench(
            id,
            number,
            name,
            family,
            date.fromisoformat(ready),
            Fraction(left, HOUR),
            Fraction(behind, HOUR),
            bool(goes_on),
        )
        for id, number, name, family, ready, left, behind, goes_on in rows
    ]
