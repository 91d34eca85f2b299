"""Price books as they were loaded, by content hash, so that an old quote can be computed again."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from sqlite_utils import Database

from intake.store import sql
from intake.store.timestamps import stamp

LIMIT = 20_000_000
Files = Mapping[str, bytes]
"""A book's folder in memory: path with slashes → content."""


def keep(db: Database, digest: str, folder: Path, now: datetime) -> None:
    """Store the folder under its digest, unless it is there already."""
    keep_packed(db, digest, packed(folder), now)


def keep_packed(db: Database, digest: str, folder: bytes, now: datetime) -> None:
    """`keep` for a folder that is packed already."""
    if db.execute("select 1 from books where digest = ?", [digest]).fetchone():
        return
    sql.insert(db, "books", {"digest": digest, "folder": folder, "loaded_at": stamp(now)})


def packed(folder: Path) -> bytes:
    """The folder's files as a zip that depends on nothing but their names and contents."""
    return pack(read_folder(folder))


def read_folder(folder: Path) -> dict[str, bytes]:
    """The folder's files, hidden ones left out. Raises ValueError if they are too large for a price book."""
    paths = sorted(path for path in folder.rglob("*") if path.is_file() and not path.name.startswith("."))
    if sum(path.stat().st_size for path in paths) > LIMIT:
        raise ValueError(f"{folder} is too large to be a price book")
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in paths}


def write_folder(files: Files, folder: Path) -> None:
    """Write the files into a folder; their names are trusted."""
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


def pack(files: Files) -> bytes:
    """The files as a zip that depends on nothing but their names and contents."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in sorted(files.items(), key=lambda item: Path(item[0])):
            archive.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED)
    return target.getvalue()


def mark_of(files: Files) -> str:
    """Sixteen hex digits that change with any byte of any file."""
    total = hashlib.sha256()
    for name, content in sorted(files.items()):
        total.update(f"{name}\n{len(content)}\n".encode())
        total.update(content)
    return total.hexdigest()[:16]


def unpacked(folder: bytes) -> dict[str, bytes]:
    """The files that `pack` packed."""
    with zipfile.ZipFile(io.BytesIO(folder)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def unpack(db: Database, digest: str, folder: Path) -> None:
    """Write the book with that digest into an empty folder. Raises KeyError if it is not stored."""
    row = db.execute("select folder from books where digest = ?", [digest]).fetchone()
    if row is None:
        raise KeyError(digest)
    write_folder(unpacked(row[0]), folder)
