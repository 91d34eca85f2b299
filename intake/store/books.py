"""Price books as they were loaded, by content hash, so that an old quote can be computed again."""

from __future__ import annotations

import io
import zipfile
from datetime import datetime
from pathlib import Path

from sqlite_utils import Database

from intake.store.times import stamp

LIMIT = 20_000_000


def keep(db: Database, digest: str, folder: Path, now: datetime) -> None:
    """Store the folder under its digest, unless it is there already."""
    if db.execute("select 1 from books where digest = ?", [digest]).fetchone():
        return
    db.table("books").insert({"digest": digest, "folder": packed(folder), "loaded_at": stamp(now)})


def packed(folder: Path) -> bytes:
    """The folder's files as a zip that depends on nothing but their names and contents."""
    files = sorted(path for path in folder.rglob("*") if path.is_file() and not path.name.startswith("."))
    if sum(path.stat().st_size for path in files) > LIMIT:
        raise ValueError(f"{folder} is too large to be a price book")
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in files:
            info = zipfile.ZipInfo(path.relative_to(folder).as_posix())
            archive.writestr(info, path.read_bytes(), zipfile.ZIP_DEFLATED)
    return target.getvalue()


def unpack(db: Database, digest: str, folder: Path) -> None:
    """Write the book with that digest into an empty folder. Raises KeyError if it is not stored."""
    row = db.execute("select folder from books where digest = ?", [digest]).fetchone()
    if row is None:
        raise KeyError(digest)
    with zipfile.ZipFile(io.BytesIO(row[0])) as archive:
        archive.extractall(folder)
