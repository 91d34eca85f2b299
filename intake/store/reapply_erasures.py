"""A backup may bring back a customer who was erased after it was made: they are erased again."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from contextlib import closing
from datetime import datetime
from pathlib import Path

from intake.store import privacy, tickets
from intake.store.backup.archive import uri
from intake.store.db import Store
from intake.store.ticket_state import TicketState


def erased_in(databases: Iterable[Path]) -> set[str]:
    """The tickets that those databases know as erased; one that cannot be read tells nothing."""
    found: set[str] = set()
    for database in databases:
        try:
            with closing(sqlite3.connect(uri(database, "rw"), uri=True)) as db:
                rows = db.execute("select id from tickets where state = ?", [TicketState.ERASED])
                found |= {id for (id,) in rows}
        except sqlite3.Error:
            pass
    return found


def erase_again(store: Store, erased: Iterable[str], now: datetime) -> int:
    """Erase those tickets where the store does not know yet that they were; how many that were."""
    found = [tickets.find(store.db, id) for id in erased]
    ids = [ticket.id for ticket in found if ticket and ticket.state != TicketState.ERASED]
    if ids:
        privacy.erase(store, ids, now)
    return len(ids)
