"""Photos of a ticket: rows here, JPEG files named by their hash in the store's folder."""

from __future__ import annotations

import hashlib
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

from sqlite_utils import Database

from intake.store import sql
from intake.store.files import write_durably
from intake.store.timestamps import stamp


@dataclass(frozen=True)
class Photo:
    """Sizes in pixels and bytes. The same picture twice on a ticket is one photo."""

    sha256: str
    ticket: str
    kind: str
    width: int
    height: int
    bytes: int
    created: str


def write(folder: Path, jpeg: bytes) -> str:
    """Put the file in its place and give its hash; done before its row, so that no row lacks a file."""
    sha256 = hashlib.sha256(jpeg).hexdigest()
    path = folder / f"{sha256}.jpg"
    if not path.exists():
        write_durably(path, jpeg)
    return sha256


def keep(
    db: Database, ticket: str, sha256: str, size: tuple[int, int], length: int, now: datetime, kind: str = ""
) -> Photo:
    """Write the row, unless the ticket has this very picture."""
    photo = Photo(sha256, ticket, kind, *size, length, stamp(now))
    db.table("photos").insert(asdict(photo), ignore=True)
    return photo


def of_ticket(db: Database, ticket: str) -> list[Photo]:
    """A ticket's photos, oldest first."""
    return [Photo(**row) for row in sql.select(db, "photos", "ticket = ?", [ticket], order_by="created")]


def known(db: Database, sha256: str) -> bool:
    """True if some ticket has the photo."""
    return db.execute("select 1 from photos where sha256 = ?", [sha256]).fetchone() is not None
