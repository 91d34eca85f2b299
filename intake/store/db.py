"""The open store: connections, and the one way to write."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlite_utils import Database

from intake.store import edits, search
from intake.store.backup.archive import DATABASE
from intake.store.errors import BusyError, StoreError
from intake.store.migrations.every import MIGRATIONS
from intake.store.opening import in_words, prepare

BUSY_MS = 5_000


class Store:
    """One data folder: `tallyfret.db` with `photos/` and `quotes/` beside it.

    Opening it checks what is there, makes what is missing and brings the schema up to date, after a backup
    into `backups` (else the folder of that name beside the file). Each thread has a connection of its own.
    Raises StoreError, with the way out.
    """

    def __init__(self, folder: Path, backups: Path | None = None) -> None:
        self.folder = folder
        self.backups = backups or folder / "backups"
        self.path = folder / DATABASE
        self._local = threading.local()
        self._turn = threading.Lock()
        prepare(folder, (self.photos, self.quotes), self.backups)
        try:
            with self.writing() as db:
                MIGRATIONS.apply(db)
                edits.begin(db)
                search.fill(db)
        except sqlite3.Error as error:
            raise StoreError(in_words(error, folder, self.backups)) from error

    @property
    def photos(self) -> Path:
        return self.folder / "photos"

    @property
    def quotes(self) -> Path:
        return self.folder / "quotes"

    @property
    def db(self) -> Database:
        """This thread's connection, for reading."""
        if not hasattr(self._local, "held"):
            self._local.held = Held(connect(self.path))
        return self._local.held.db

    @contextmanager
    def reading(self) -> Iterator[Database]:
        """Several reads that see one and the same state."""
        with self.db.atomic() as db:
            yield db

    @contextmanager
    def writing(self) -> Iterator[Database]:
        """All or nothing: a transaction that holds the write lock from its first statement.

        sqlite-utils' own `atomic` opens a deferred transaction, in which a read followed by a
        write fails at once when another connection has written in between. Within this block it
        nests by savepoints. This store's threads take turns: SQLite's own wait is a lottery, in which one of
        many may lose for seconds. Raises sqlite3.OperationalError when the lock stays taken.
        """
        db = self.db
        if not self._turn.acquire(timeout=BUSY_MS / 1000):
            raise BusyError("database is locked")
        try:
            db.conn.execute("BEGIN IMMEDIATE")
            yield db
            db.conn.execute("COMMIT")
        except BaseException:
            if db.conn.in_transaction:
                db.conn.execute("ROLLBACK")
            raise
        finally:
            self._turn.release()

    def close(self) -> None:
        """Close this thread's connection."""
        if hasattr(self._local, "held"):
            del self._local.held


class Held:
    """A thread's connection, closed when the thread has ended and nobody holds it."""

    def __init__(self, db: Database) -> None:
        self.db = db

    def __del__(self) -> None:
        self.db.close()


def connect(path: Path) -> Database:
    """A connection with every setting that SQLite keeps per connection.

    `synchronous` is FULL: in WAL mode NORMAL may lose the last commits with the power, and a
    counter that said "saved" must not forget. The driver opens no transactions by itself. A connection stays
    with its thread, but may be closed from another.
    """
    connection = sqlite3.connect(path, BUSY_MS / 1000, isolation_level=None, check_same_thread=False)
    for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
        connection.execute(f"PRAGMA {pragma}")
    connection.execute(f"PRAGMA busy_timeout = {BUSY_MS}")
    return Database(connection)
