"""Wrong PINs and passwords: after the first few, each makes the next wait longer; the eighth locks an hour.

A try is counted before it is checked, in a transaction of its own, so that many at once are as slow as one
after the other; the right PIN then takes the count back. What browsers unknown to the shop get wrong counts
apart from what its own phones do: strangers cannot lock the shop's people out of the shop's phones.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlite_utils import Database

from intake.store import sql
from intake.store.timestamps import stamp

Key = tuple[str, str]
"""What is counted: for a person ("person", id) on the shop's phones, ("stranger", id) from unknown browsers;
for a place ("device", id), ("address", the browser's), ("machine", "") and ("session", id)."""

WAITS = (0, 0, 5, 15, 30, 60, 120)
"""Seconds to wait after the first, second … wrong one in a row."""
MOST = len(WAITS) + 1
MOST_OF_STRANGERS = 100
"""Wrong passwords for one name from unknown browsers at any addresses: then the name is closed to those."""
LOCKED = timedelta(hours=1)
FORGOTTEN = timedelta(days=1)


def begin(db: Database, keys: Sequence[Key], now: datetime) -> bool:
    """Count a try for each of the keys; false, and nothing counted, while one of them has to wait."""
    sql.delete(db, "attempts", "last < ?", [stamp(now - FORGOTTEN)])
    rows = [_row(db, key) for key in keys]
    if any(_is_locked(row, now) for row in rows):
        return False
    for row in rows:
        count = 1 if row["count"] >= _most(row["kind"]) else row["count"] + 1
        until = now + _wait(row["kind"], count)
        changed = {"count": count, "last": stamp(now), "locked_until": stamp(until)}
        sql.save(db, "attempts", {**row, **changed})
    return True


def _most(kind: str) -> int:
    return MOST_OF_STRANGERS if kind == "stranger" else MOST


def _wait(kind: str, count: int) -> timedelta:
    """How long nothing is looked at after that many in a row."""
    if count >= _most(kind):
        return LOCKED
    return timedelta(seconds=0 if kind == "stranger" else WAITS[count - 1])


def waits(db: Database, key: Key, now: datetime) -> bool:
    """Whether nothing is looked at just now for that key."""
    return _is_locked(_row(db, key), now)


def _is_locked(row: Mapping[str, Any], now: datetime) -> bool:
    """No lock is longer than LOCKED: what ends later is of a clock that once ran ahead."""
    return bool(stamp(now) < row["locked_until"] <= stamp(now + LOCKED))


def of_person(id: int) -> list[Key]:
    """Everything that is counted for that person."""
    return [("person", str(id)), ("stranger", str(id))]


def clear(db: Database, keys: Iterable[Key]) -> None:
    """Forget the wrong ones: the right one came, or the owner said so."""
    for kind, about in keys:
        sql.delete(db, "attempts", "kind = ? and about = ?", [kind, about])


def clear_places(db: Database) -> None:
    """Forget the wrong ones of every phone and address."""
    sql.delete(db, "attempts", "kind <> 'person'")


def locked(db: Database, now: datetime) -> set[Key]:
    """What is locked for good just now, short waits aside."""
    rows = sql.select(db, "attempts", "locked_until > ?", [stamp(now)])
    counted = {(row["kind"], row["about"]): row for row in rows if row["count"] >= _most(row["kind"])}
    return {key for key, row in counted.items() if _is_locked(row, now)}


def _row(db: Database, key: Key) -> dict[str, Any]:
    found = sql.select(db, "attempts", "kind = ? and about = ?", list(key))
    return next(iter(found), {"kind": key[0], "about": key[1], "count": 0, "last": "", "locked_until": ""})
