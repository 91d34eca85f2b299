"""What the customer has said of a ticket's quotes, for whoever opens the ticket."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlite_utils import Database

from intake.i18n.formats import day_of
from intake.store import decisions, edits, quotes
from intake.store.decisions import Answer


@dataclass(frozen=True)
class Said:
    """One answer; `day` is its day at the counter, ISO."""

    answer: Answer
    day: str


@dataclass(frozen=True)
class Responses:
    """`revision` is the newest quote; `said` its yes, if there is one, and the last word besides; `later` is
    how many answers came after it."""

    revision: int
    said: Sequence[Said]
    later: int = 0

    @property
    def agreed(self) -> bool:
        return any(one.answer.kind == "goahead" and one.answer.revision == self.revision for one in self.said)


def responses_of(db: Database, ticket: str) -> Responses | None:
    """None before the first quote."""
    newest = quotes.latest(db, ticket)
    if newest is None:
        return None
    yes = decisions.go_ahead(db, ticket, newest.revision)
    last = decisions.of_ticket(db, ticket)[-1:]
    shown = [yes, *(one for one in last if one != yes)] if yes else last
    later = edits.changed_since(db, ticket, newest.version)
    return Responses(newest.revision, [Said(one, day_of(one.at)) for one in shown], later)
