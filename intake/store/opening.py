"""Before a store is opened: is it whole, is it ours, and was it saved before its schema changes?"""

from __future__ import annotations

import logging
import sqlite3
import threading
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from sqlite_utils import Database

from intake.store.backup.archive import DATABASE, newest_good
from intake.store.backup.backup import back_up
from intake.store.backup.restore_marker import refuse_half
from intake.store.errors import StoreError, typed
from intake.store.migrations.every import MIGRATIONS

PATIENCE = 10.0
log = logging.getLogger(__name__)
NEWER = (
    "{path} was last used by a newer Tallyfret. Start that version, or restore a backup that this one made."
)
UNREADABLE = ("SQLITE_CORRUPT", "SQLITE_NOTADB")
UNWRITABLE = ("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM", "SQLITE_IOERR")


def prepare(folder: Path, needed: tuple[Path, ...], backups: Path) -> None:
    """Make the folders, check what is there, and back it up if its schema is about to change.

    Raises StoreError with a sentence that names the way out.
    """
    refuse_half(folder)
    try:
        for path in (folder, *needed):
            path.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(f"{error.filename or folder} cannot be made: {error.strerror}.") from error
    if is_lost(folder):
        raise StoreError(lost(folder, backups))
    if not (folder / DATABASE).exists():
        return
    try:
        if _check(folder / DATABASE):
            kept = back_up(folder, backups, datetime.now(UTC), "update")
            log.warning(
                "The shop's file is of an earlier version: backed up to %s, now migrated", kept.folder
            )
    except sqlite3.Error as error:
        raise StoreError(in_words(error, folder, backups)) from error


def is_lost(folder: Path) -> bool:
    """Whether photos or quotes are there and their database is not: a new one would hide what is missing."""
    path = folder / DATABASE
    there = path.is_file() and path.stat().st_size > 0
    return not there and any(any((folder / name).glob("[!.]*")) for name in ("photos", "quotes"))


def shop_in(folder: Path) -> Path:
    """The folder, for a command that starts no shop. Raises StoreError where none is, or half."""
    refuse_half(folder)
    if not (folder / DATABASE).exists() and not is_lost(folder):
        raise StoreError(
            f"{folder} holds no shop. Say where it is: tallyfret --data FOLDER. (tallyfret serve starts one.)"
        )
    return folder


def lost(folder: Path, backups: Path) -> str:
    """The sentence for such a folder, and the way out."""
    return f"{folder} holds photos or quotes of a shop, but {DATABASE} is gone. {way_out(folder, backups)}"


def _check(path: Path) -> bool:
    """True if the schema has to change. Raises sqlite3.Error for damage, StoreError for a newer file."""
    with closing(sqlite3.connect(path)) as connection:
        _look_over(connection)
        db = Database(connection)
        if is_newer(db):
            raise StoreError(NEWER.format(path=path))
        return bool(MIGRATIONS.applied(db)) and bool(MIGRATIONS.pending(db))


def is_newer(db: Database) -> bool:
    """Whether a later version has changed the file in ways that this one does not know."""
    with closing(sqlite3.connect(":memory:")) as empty:
        known = {migration.name for migration in MIGRATIONS.pending(Database(empty))}
    return bool({migration.name for migration in MIGRATIONS.applied(db)} - known)


def _look_over(connection: sqlite3.Connection) -> None:
    """As much as PATIENCE allows, so that a large shop opens too; every backup is checked as a whole."""
    enough = threading.Timer(PATIENCE, connection.interrupt)
    enough.start()
    try:
        (found,) = connection.execute("PRAGMA quick_check(1)").fetchone()
    except sqlite3.OperationalError as error:
        if error.sqlite_errorname != "SQLITE_INTERRUPT":
            raise
        found = "ok"
    finally:
        enough.cancel()
        enough.join()
    if found != "ok":
        raise Damaged(" ".join(found.split()))


class Damaged(sqlite3.DatabaseError):
    """What the check found."""

    sqlite_errorname = "SQLITE_CORRUPT"


def in_words(error: sqlite3.Error, folder: Path, backups: Path) -> str:
    """One sentence for what is wrong with the file, and what to do."""
    name = getattr(error, "sqlite_errorname", "") or ""
    if name.startswith(UNREADABLE):
        return f"{folder / DATABASE} is damaged ({error}). {way_out(folder, backups)}"
    if name.startswith(UNWRITABLE):
        return f"{folder} cannot be written to ({error}): is its disk read-only, or another user's?"
    if name.startswith("SQLITE_FULL"):
        return f"The disk of {folder} is full. Make room, then start again."
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return f"{folder / DATABASE} is held by another program. Stop that one, then start again."
    return f"{folder / DATABASE} cannot be opened: {error}."


def way_out(folder: Path, backups: Path) -> str:
    """The newest good backup and the command that brings it back."""
    archive = newest_good(backups)
    if archive is None:
        return f"No good backup lies in {backups}; keep the folder as it is and look for a copy elsewhere."
    return (
        f"The newest good backup is of {archive.made:%Y-%m-%d %H:%M} UTC. Bring it back with:"
        f" {typed(folder, 'restore', archive.folder, '--force')}"
    )
