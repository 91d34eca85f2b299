"""What the customer has said of a ticket's quotes, for whoever opens the ticket."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlite_utils import Database

from intake.counter.words import day_of
from intake.store import answers, quotes
from intake.store.answers import Answer


@dataclass(frozen=True)
class Said:
    """One answer; `day` is its day at the counter, ISO."""

    answer: Answer
    day: str


@dataclass(frozen=True)
class Heard:
    """`revision` is the newest quote; `said` its yes, if there is one, and the last word besides."""

    revision: int
    said: Sequence[Said]

    @property
    def agreed(self) -> bool:
        return any(one.answer.kind == "goahead" and one.answer.revision == self.revision for one in self.said)


def heard(db: Database, ticket: str) -> Heard | None:
    """None before the first quote."""
    newest = quotes.latest(db, ticket)
    if newest is None:
        return None
    yes = answers.go_ahead(db, ticket, newest.revision)
    last = answers.of_ticket(db, ticket)[-1:]
    shown = [yes, *(one for one in last if one != yes)] if yes else last
    return Heard(newest.revision, [Said(one, day_of(one.at)) for one in shown])
