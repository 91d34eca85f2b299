"""Edits and what stands in each part, as rows."""

from __future__ import annotations

import secrets
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlite_utils import Database

from intake.store import sql
from intake.store.step_conversion import FIRST
from intake.store.timestamps import stamp


@dataclass(frozen=True)
class Row:
    """One edit as it was taken. `base` are the ids that its page showed; `at` the version that it made."""

    id: str
    ticket: str
    part: str
    value: str
    base: tuple[str, ...] = ()
    by: str = "hand"
    act: str = ""
    log: str = ""
    seq: int = 0
    fate: str = ""
    same_as: str = ""
    why: str = ""
    who: str = ""
    phone: str = ""
    device: str = ""
    taken_at: str = ""
    at: int = 0


@dataclass(frozen=True)
class Standing:
    """What a part holds: its value (nothing while a clash is open) and the edits that nobody has replaced."""

    part: str
    value: str
    by: str
    heads: tuple[str, ...]
    first: int
    at: int

    @property
    def is_open(self) -> bool:
        return len(self.heads) > 1


@dataclass(frozen=True)
class Life:
    """Which life of the store this is: `epoch` is new at every restore, `version` counts what became part of
    any ticket, `backed_up` is the version that a verified backup holds."""

    epoch: str
    version: int
    backed_up: int


def begin(db: Database) -> None:
    """Give a store its epoch, unless it has one."""
    if db.execute("select 1 from lives").fetchone() is None:
        (version,) = db.execute("select coalesce(max(at), ?) from edits", [FIRST]).fetchone()
        sql.insert(db, "lives", {"id": 1, "epoch": _new_epoch(), "version": version, "backed_up": 0})


def begin_anew(db: Database | sqlite3.Connection) -> None:
    """A new epoch, by which phones know that what they sent since may not be here. A store from before there
    were epochs gets its first one when it is opened."""
    if db.execute("select 1 from sqlite_master where name = 'lives'").fetchone():
        db.execute("update lives set epoch = ?", [_new_epoch()])


def _new_epoch() -> str:
    return secrets.token_hex(8)


def life(db: Database) -> Life:
    """The epoch and the version."""
    return Life(*db.execute("select epoch, version, backed_up from lives").fetchone())


def find(db: Database, id: str) -> Row | None:
    """The edit with that id."""
    return next(iter(_rows(db, "id = ?", [id])), None)


def of_part(db: Database, ticket: str, part: str, until: int | None = None) -> list[Row]:
    """A part's edits in the order in which they were taken, refused ones left out; `until` a version."""
    where = "ticket = ? and part = ? and fate <> 'refused' and (? is null or at <= ?)"
    return _rows(db, where, [ticket, part, until, until])


def of_ticket(db: Database, ticket: str, after: int = 0) -> list[Row]:
    """All of a ticket's edits, or those after a version."""
    return _rows(db, "ticket = ? and at > ?", [ticket, after])


def changed_since(db: Database, ticket: str, version: int) -> int:
    """How many answers are others than at that version; a photo is none."""
    sql = (
        "select count(distinct part) from edits where ticket = ? and at > ? and fate in ('stands', 'clash')"
        " and part not like 'photos/%'"
    )
    (count,) = db.execute(sql, [ticket, version]).fetchone()
    return int(count)


def by_ids(db: Database, ids: Sequence[str]) -> dict[str, Row]:
    """Those edits by id."""
    marks = ", ".join("?" * len(ids))
    return {row.id: row for row in _rows(db, f"id in ({marks})", list(ids))}


def add(db: Database, row: Row, now: datetime) -> Row:
    """Write an edit down; it makes the next version of the store."""
    db.execute("update lives set version = version + 1")
    (at,) = db.execute("select version from lives").fetchone()
    kept = Row(**{**vars(row), "at": at, "taken_at": row.taken_at or stamp(now)})
    sql.insert(db, "edits", {**vars(kept), "base": " ".join(kept.base)})
    return kept


def standing(db: Database, ticket: str) -> dict[str, Standing]:
    """What stands in each part that was ever given, in the order in which they were first."""
    rows = sql.query(
        db, "select part, value, by, heads, first, at from parts where ticket = ? order by first", [ticket]
    )
    return {row["part"]: Standing(**{**row, "heads": tuple(row["heads"].split())}) for row in rows}


def count_parts(db: Database, ticket: str) -> int:
    """How many parts were ever given."""
    (count,) = db.execute("select count(*) from parts where ticket = ?", [ticket]).fetchone()
    return int(count)


def stand(db: Database, ticket: str, held: Standing) -> None:
    """Write down what a part holds now."""
    row = {**vars(held), "ticket": ticket, "heads": " ".join(held.heads), "sides": len(held.heads)}
    sql.save(db, "parts", row)


def clashed(db: Database, tickets: Iterable[str]) -> set[str]:
    """Those of the tickets that have an open clash."""
    ids = list(tickets)
    marks = ", ".join("?" * len(ids))
    rows = db.execute(f"select distinct ticket from parts where sides > 1 and ticket in ({marks})", ids)  # noqa: S608
    return {ticket for (ticket,) in rows}


def taken(db: Database, ticket: str, log: str) -> int:
    """The number of the last edit that was taken of a log."""
    row = db.execute("select taken from logs where ticket = ? and log = ?", [ticket, log]).fetchone()
    return int(row[0]) if row else 0


def take_number(db: Database, ticket: str, log: str, number: int) -> None:
    """Write down how far a log has come."""
    sql.save(db, "logs", {"ticket": ticket, "log": log, "taken": number})


def _rows(db: Database, where: str, values: list[Any]) -> list[Row]:
    found = sql.select(db, "edits", where, values, order_by="at")
    return [Row(**{**row, "base": tuple(row["base"].split())}) for row in found]
