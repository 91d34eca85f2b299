"""Wrong PINs and passwords: after the first few, each makes the next wait longer; the eighth locks an hour.

A try is counted before it is checked, in a transaction of its own, so that many at once are as slow as one
after the other; the right PIN then takes the count back.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlite_utils import Database

from intake.store.times import stamp

Key = tuple[str, str]
"""What is counted: ("person", id), ("device", id) or ("address", the browser's)."""

WAITS = (0, 0, 5, 15, 30, 60, 120)
"""Seconds to wait after the first, second … wrong one in a row."""
MOST = len(WAITS) + 1
LOCKED = timedelta(hours=1)
FORGOTTEN = timedelta(days=1)


def begin(db: Database, keys: Sequence[Key], now: datetime) -> bool:
    """Count a try for each of the keys; false, and nothing counted, while one of them has to wait."""
    db.table("attempts").delete_where("last < ?", [stamp(now - FORGOTTEN)])
    rows = [_row(db, key) for key in keys]
    if any(row["locked_until"] > stamp(now) for row in rows):
        return False
    for row in rows:
        count = 1 if row["count"] >= MOST else row["count"] + 1
        until = now + (LOCKED if count >= MOST else timedelta(seconds=WAITS[count - 1]))
        changed = {"count": count, "last": stamp(now), "locked_until": stamp(until)}
        db.table("attempts").upsert({**row, **changed}, pk=("kind", "about"))
    return True


def clear(db: Database, keys: Iterable[Key]) -> None:
    """Forget the wrong ones: the right one came, or the owner said so."""
    for kind, about in keys:
        db.table("attempts").delete_where("kind = ? and about = ?", [kind, about])


def clear_places(db: Database) -> None:
    """Forget the wrong ones of every phone and address."""
    db.table("attempts").delete_where("kind <> 'person'")


def locked(db: Database, now: datetime) -> set[Key]:
    """What is locked for good just now, short waits aside."""
    rows = db.table("attempts").rows_where("count >= ? and locked_until > ?", [MOST, stamp(now)])
    return {(row["kind"], row["about"]) for row in rows}


def _row(db: Database, key: Key) -> dict[str, Any]:
    found = db.table("attempts").rows_where("kind = ? and about = ?", list(key))
    return next(iter(found), {"kind": key[0], "about": key[1], "count": 0, "last": "", "locked_until": ""})
