"""What a shop had handed out or agreed after the backup that is put back: paper and promises of which the
restored store knows nothing."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from intake.store.backup.archive import uri

QUOTES = """select q.ticket, q.revision, t.number, t.name, q.made_at,
    exists (select 1 from answers a
        where a.ticket = q.ticket and a.revision = q.revision and a.kind = 'goahead')
    from quotes q join tickets t on t.id = q.ticket order by q.made_at"""


@dataclass(frozen=True)
class HandedOut:
    """A frozen quote; `agreed` if the customer has said yes to it."""

    ticket: str
    revision: int
    number: int
    name: str
    made_at: str
    agreed: bool


def handed_out_since(former: Path, restored: Path) -> tuple[HandedOut, ...]:
    """The quotes of the former store that the restored one does not have, or whose yes it does not have. Of a
    store that cannot be read nothing is known."""
    try:
        before = list(_quotes(former))
        known = {(one.ticket, one.revision, one.agreed) for one in _quotes(restored)}
    except sqlite3.Error:
        return ()
    return tuple(one for one in before if (one.ticket, one.revision, one.agreed) not in known)


def _quotes(database: Path) -> Iterator[HandedOut]:
    with closing(sqlite3.connect(uri(database, "rw"), uri=True)) as db:
        for ticket, revision, number, name, made_at, agreed in db.execute(QUOTES):
            yield HandedOut(ticket, revision, number, name, made_at, bool(agreed))
