"""Photos of a ticket: rows here, JPEG files named by their hash in the store's folder.

Whether a photo is still there says its part, `photos/<id>`.
"""

from __future__ import annotations

import hashlib
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

from sqlite_utils import Database

from intake.store import sql
from intake.store.files import write_durably
from intake.store.timestamps import stamp

THERE = """exists (select 1 from parts where parts.ticket = photos.ticket and part = 'photos/' || photos.id
    and (sides > 1 or value <> ''))"""


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
    id: str = ""


def hash_of(jpeg: bytes) -> str:
    """The name of its file."""
    return hashlib.sha256(jpeg).hexdigest()


def write(folder: Path, jpeg: bytes) -> str:
    """Put the file in its place and give its hash; done before its row, so that no row lacks a file."""
    sha256 = hash_of(jpeg)
    path = folder / f"{sha256}.jpg"
    if not path.exists():
        write_durably(path, jpeg)
    return sha256


def keep(
    db: Database,
    ticket: str,
    sha256: str,
    size: tuple[int, int],
    length: int,
    now: datetime,
    kind: str = "",
    id: str = "",
) -> Photo:
    """Write the row; where the ticket had this very picture, in its place."""
    photo = Photo(sha256, ticket, kind, *size, length, stamp(now), id)
    sql.save(db, "photos", asdict(photo))
    return photo


def of_ticket(db: Database, ticket: str) -> list[Photo]:
    """All that a ticket ever had, oldest first."""
    return _photos(db, "ticket = ?", [ticket])


def shown(db: Database, ticket: str) -> list[Photo]:
    """Those that nobody took away, oldest first."""
    return _photos(db, f"ticket = ? and {THERE}", [ticket])


def is_there(db: Database, photo: Photo) -> bool:
    """Whether nobody took it away."""
    return photo in shown(db, photo.ticket)


def with_id(db: Database, ticket: str, id: str) -> Photo | None:
    """The photo that a phone gave that id."""
    return next(iter(_photos(db, "ticket = ? and id = ? and id <> ''", [ticket, id])), None)


def with_picture(db: Database, ticket: str, sha256: str) -> Photo | None:
    """The photo of that very picture."""
    return next(iter(_photos(db, "ticket = ? and sha256 = ?", [ticket, sha256])), None)


def _photos(db: Database, where: str, values: list[str]) -> list[Photo]:
    return [Photo(**row) for row in sql.select(db, "photos", where, values, order_by="created")]


def known(db: Database, sha256: str) -> bool:
    """True if some ticket has the photo."""
    return db.execute("select 1 from photos where sha256 = ?", [sha256]).fetchone() is not None
