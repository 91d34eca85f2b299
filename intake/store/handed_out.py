"""What a shop had handed out or agreed after the backup that is put back: paper and promises of which the
restored store knows nothing. They stay listed for the owner until she has dealt with them."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing
from dataclasses import asdict, dataclass
from pathlib import Path

from intake.store.backup.archive import uri
from intake.store.files import write_durably

LIST = "after-backup.json"
"""In the data folder. It names no customer: whoever is erased later need not be looked for here."""

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


def listed(data: Path) -> tuple[HandedOut, ...]:
    """What is still to be dealt with, oldest first; names stand in the tickets. A damaged list is none."""
    path = data / LIST
    try:
        rows = json.loads(path.read_text("utf-8")) if path.is_file() else []
        return tuple(HandedOut(**row, name="") for row in rows)
    except (OSError, ValueError, TypeError, RecursionError):
        return ()


def add_to_list(data: Path, found: Iterable[HandedOut]) -> None:
    """Write it down beside what an earlier restore has left there."""
    both = {(one.ticket, one.revision, one.agreed): one for one in (*listed(data), *found)}
    if both:
        rows = [
            {name: value for name, value in asdict(one).items() if name != "name"}
            for one in sorted(both.values(), key=lambda one: one.made_at)
        ]
        write_durably(data / LIST, json.dumps(rows).encode())


def clear_list(data: Path) -> None:
    """All of it has been dealt with."""
    (data / LIST).unlink(missing_ok=True)
