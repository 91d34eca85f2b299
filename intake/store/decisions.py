"""What a customer answers to a quote: the choice of the moment, questions, a yes or a no."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Literal

from sqlite_utils import Database

from intake.store import sql
from intake.store.timestamps import stamp

Kind = Literal["question", "goahead", "refused"]
Way = Literal["link", "counter", "telephone"]
MOST_QUESTIONS = 30
SAME_WITHIN = timedelta(minutes=10)


@dataclass(frozen=True)
class Answer:
    """`way` is how it came. A yes holds the hash of the quote's exact text, the jobs (JSON list), `offer`
    (JSON: what was agreed and when the bench does it), `total`, `deposit` and `ready`; `signature` is
    "typed" or the strokes that were drawn; `who` is the member of staff that took it."""

    ticket: str
    revision: int
    kind: str
    way: str
    name: str = ""
    words: str = ""
    signature: str = ""
    quote_sha256: str = ""
    jobs: str = "[]"
    offer: str = ""
    total: str = ""
    currency: str = ""
    deposit: str = ""
    ready: str = ""
    who: str = ""
    link: int = 0
    id: int = 0
    at: str = ""

    @property
    def job_ids(self) -> tuple[str, ...]:
        return tuple(json.loads(self.jobs))


def say(db: Database, answer: Answer, now: datetime) -> None:
    """Append it. Raises sqlite3.IntegrityError for a second yes to the same revision."""
    row = {**asdict(answer), "at": stamp(now)}
    del row["id"]
    sql.insert(db, "answers", row)


def of_ticket(db: Database, ticket: str) -> list[Answer]:
    """All of a ticket's answers, oldest first."""
    return [Answer(**row) for row in sql.select(db, "answers", "ticket = ?", [ticket], order_by="id")]


def go_ahead(db: Database, ticket: str, revision: int) -> Answer | None:
    """The yes to that revision."""
    where = "ticket = ? and revision = ? and kind = 'goahead'"
    return next((Answer(**row) for row in sql.select(db, "answers", where, [ticket, revision])), None)


def may_say(db: Database, ticket: str, kind: Kind, words: str, now: datetime) -> bool:
    """False for more questions or noes than a person has; the same words twice in a row are kept once."""
    said = [answer for answer in of_ticket(db, ticket) if answer.kind == kind]
    since = stamp(now - SAME_WITHIN)
    return len(said) < MOST_QUESTIONS and not any(a.words == words and a.at >= since for a in said)


def choose(db: Database, ticket: str, revision: int, jobs: Iterable[str], now: datetime) -> bool:
    """Keep what is chosen just now; true if that is the first choice of this revision."""
    first = chosen(db, ticket, revision) is None
    row = {"ticket": ticket, "revision": revision, "jobs": json.dumps(list(jobs)), "changed": stamp(now)}
    sql.save(db, "choices", row)
    return first


def chosen(db: Database, ticket: str, revision: int) -> tuple[str, ...] | None:
    """The jobs chosen just now, None before any choice."""
    where = "ticket = ? and revision = ?"
    rows = sql.select(db, "choices", where, [ticket, revision])
    return tuple(json.loads(rows[0]["jobs"])) if rows else None
