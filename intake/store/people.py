"""The shop's staff: one owner, the bench, the counter. Nobody is ever deleted: events name them."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from sqlite_utils import Database

from intake.store import attempts, sessions, sql
from intake.store.timestamps import stamp

Role = Literal["owner", "bench", "counter"]
STAFF_ROLES: tuple[Role, ...] = ("counter", "bench")
LONGEST_NAME = 60


class NameTakenError(ValueError):
    """Somebody has that name already, or had it."""


@dataclass(frozen=True)
class Person:
    """Hashes are empty where there is none; they stay out of every print."""

    id: int
    name: str
    role: str
    active: bool
    created: str
    pin_hash: str = field(default="", repr=False)
    password_hash: str = field(default="", repr=False)


def add(
    db: Database, name: str, role: Role, now: datetime, *, pin_hash: str = "", password_hash: str = ""
) -> int:
    """A new person's id. Raises NameTaken, also for a second owner."""
    row = {
        "name": clean_name(name),
        "role": role,
        "pin_hash": pin_hash,
        "password_hash": password_hash,
        "active": 1,
        "created": stamp(now),
    }
    try:
        return sql.insert(db, "people", row)
    except sqlite3.IntegrityError as error:
        raise NameTakenError(name) from error


def clean_name(name: str) -> str:
    """The name on one line. Raises ValueError if nothing or too much is left."""
    clean = " ".join("".join(sign if sign.isprintable() else " " for sign in name).split())
    if not 0 < len(clean) <= LONGEST_NAME:
        raise ValueError(f"a name has 1 to {LONGEST_NAME} letters")
    return clean


def find(db: Database, id: int) -> Person | None:
    """The person with that id, active or not."""
    return _first(db, "id = ?", [id])


def named(db: Database, name: str) -> Person | None:
    """The person with that name, however it is capitalised."""
    return _first(db, "name = ? collate nocase", [" ".join(name.split())])


def owner(db: Database) -> Person | None:
    """The owner, once there is one."""
    return _first(db, "role = ?", ["owner"])


def everybody(db: Database) -> list[Person]:
    """All of them, those who are active first."""
    return [_person(row) for row in sql.select(db, "people", order_by="active desc, name collate nocase")]


def with_pin(db: Database) -> list[Person]:
    """Who can sign in on an enrolled phone."""
    return [one for one in everybody(db) if one.active and one.pin_hash]


def set_pin(db: Database, id: int, pin_hash: str, now: datetime) -> None:
    """A new PIN: sessions under the old one end, and its wrong tries are forgotten."""
    sql.update(db, "people", id, {"pin_hash": pin_hash})
    sessions.end_of(db, "person", id, now)
    attempts.clear(db, attempts.of_person(id))


def set_password(db: Database, id: int, password_hash: str, now: datetime) -> None:
    """A new password: sessions under the old one end, and its wrong tries are forgotten."""
    sql.update(db, "people", id, {"password_hash": password_hash})
    sessions.end_of(db, "person", id, now)
    attempts.clear(db, attempts.of_person(id))


def set_active(db: Database, id: int, active: bool, now: datetime) -> None:
    """Let somebody in again, or no more: then every session of theirs ends."""
    sql.update(db, "people", id, {"active": int(active)})
    if not active:
        sessions.end_of(db, "person", id, now)


def _first(db: Database, where: str, values: list[str | int]) -> Person | None:
    return next((_person(row) for row in sql.select(db, "people", where, values)), None)


def _person(row: dict[str, object]) -> Person:
    return Person(**{**row, "active": bool(row["active"])})  # type: ignore[arg-type]
