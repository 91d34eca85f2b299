"""A backup may bring back a customer who was erased after it was made: they are erased again."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path

from intake.store import privacy, tickets
from intake.store.db import Store


def erase_again(former: Path, data: Path, now: datetime) -> int:
    """Erase in the restored data what the database `former` knew as erased; how many tickets that were.

    A former database that cannot be read tells nothing.
    """
    store = Store(data)
    found = [tickets.find(store.db, id) for id in _erased(former)]
    ids = [ticket.id for ticket in found if ticket and ticket.state != privacy.ERASED]
    if ids:
        privacy.erase(store, ids, now)
    store.close()
    return len(ids)


def _erased(database: Path) -> list[str]:
    try:
        with closing(sqlite3.connect(database)) as db:
            return [id for (id,) in db.execute("select id from tickets where state = ?", [privacy.ERASED])]
    except sqlite3.Error:
        return []
