"""Which book is in force: a row of revisions of which the last holds, and the owner's draft of the next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlite_utils import Database

from intake.store import books, sql
from intake.store.books import Files, pack, unpacked
from intake.store.events import NOBODY, By
from intake.store.timestamps import stamp

Kind = Literal["start", "load", "edit", "import", "back"]
"""From the folder at a start of the server, from a folder by the command line, on the screens, from an
uploaded zip, and an earlier revision again."""
COLUMNS = "number, digest, at, kind, about, changes, replaced, person, who, device"


@dataclass(frozen=True)
class Revision:
    """`about` is the folder, file or revision that it came from; `changes` are sentences, one a line."""

    number: int
    digest: str
    at: str
    kind: Kind
    about: str
    changes: str
    replaced: int | None
    person: int | None
    who: str
    device: str


@dataclass(frozen=True)
class Draft:
    """What would replace revision `base`; `kind` and `about` as in a revision."""

    base: int
    files: dict[str, bytes]
    kind: Kind
    about: str
    changed_at: str


def in_force(db: Database) -> Revision | None:
    """The last revision; None before the first start."""
    return next(iter(latest(db, 1)), None)


def latest(db: Database, most: int, before: int | None = None) -> list[Revision]:
    """Revisions, newest first; with `before`, only earlier ones."""
    rows = db.execute(
        f"select {COLUMNS} from book_revisions where ? is null or number < ?"  # noqa: S608
        " order by number desc limit ?",
        [before, before, most],
    )
    return [Revision(*row) for row in rows]


def find(db: Database, number: int) -> Revision | None:
    """One revision."""
    sql = f"select {COLUMNS} from book_revisions where number = ?"  # noqa: S608
    row = db.execute(sql, [number]).fetchone()
    return Revision(*row) if row else None


def files_of(db: Database, number: int) -> dict[str, bytes]:
    """The folder of a revision, byte for byte. Raises KeyError if there is none of that number."""
    row = db.execute(
        "select coalesce(r.folder, b.folder) from book_revisions r join books b using (digest)"
        " where number = ?",
        [number],
    ).fetchone()
    if row is None:
        raise KeyError(number)
    return unpacked(row[0])


def put_in_force(
    db: Database,
    digest: str,
    files: Files,
    now: datetime,
    kind: Kind,
    *,
    about: str = "",
    changes: str = "",
    by: By = NOBODY,
) -> int:
    """Make the next revision; its number. A draft stays, for its maker to see that it was overtaken."""
    folder, before = pack(files), in_force(db)
    books.keep_packed(db, digest, folder, now)
    (kept,) = db.execute("select folder from books where digest = ?", [digest]).fetchone()
    number = before.number + 1 if before else 1
    sql.insert(
        db,
        "book_revisions",
        {
            "number": number,
            "digest": digest,
            "folder": None if kept == folder else folder,
            "at": stamp(now),
            "kind": kind,
            "about": about,
            "changes": changes,
            "replaced": before.number if before else None,
            "person": by.person,
            "who": by.who,
            "device": by.device,
        },
    )
    return number


def draft(db: Database) -> Draft | None:
    """The changes that are not in force yet."""
    row = db.execute("select base, folder, kind, about, changed_at from book_draft").fetchone()
    return Draft(row[0], unpacked(row[1]), *row[2:]) if row else None


def is_drafted(db: Database) -> bool:
    """Whether there are any."""
    return db.execute("select 1 from book_draft").fetchone() is not None


def keep_draft(db: Database, base: int, files: Files, now: datetime, kind: Kind, about: str = "") -> None:
    """Keep these files as the draft, in place of the one before."""
    kept = {"base": base, "folder": pack(files), "kind": kind, "about": about, "changed_at": stamp(now)}
    sql.save(db, "book_draft", {"id": 1, **kept})


def drop_draft(db: Database) -> None:
    """Forget what is not in force yet."""
    db.execute("delete from book_draft")
