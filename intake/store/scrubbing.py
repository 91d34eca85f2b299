"""After an erasure: database file and log are written anew, so that nothing erased stays readable.

SQLite's write-ahead log keeps old pages for as long as somebody reads the state from before. A mark in the
data folder says that the log is still to be emptied; it outlasts a restart.
"""

from __future__ import annotations

import sqlite3
import threading
from pathlib import Path

from intake.store.db import BUSY_MS, Store

MARK = "erasing"
REWRITTEN = "file written anew"
EVERY = 5.0
_waiting: set[Path] = set()


def scrub(store: Store) -> bool:
    """Write file and log anew. False, with the mark left, while a reader or writer holds on to what was."""
    mark = store.folder / MARK
    mark.touch(mode=0o600)
    try:
        if mark.read_text() != REWRITTEN:
            store.db.conn.execute("VACUUM")
            mark.write_text(REWRITTEN)
        done = _empty_log(store)
    except sqlite3.OperationalError:
        return False
    if done:
        mark.unlink(missing_ok=True)
    return done


def _empty_log(store: Store) -> bool:
    """At once or not at all: while it waits for readers, nobody could write."""
    connection = store.db.conn
    connection.execute("PRAGMA busy_timeout = 0")
    try:
        (held, *_) = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    finally:
        connection.execute(f"PRAGMA busy_timeout = {BUSY_MS}")
    return not held


def begin(store: Store) -> bool:
    """Scrub what was erased just now."""
    (store.folder / MARK).write_text("")
    return scrub(store)


def is_unfinished(folder: Path) -> bool:
    """Whether something erased may still stand in the log."""
    return (folder / MARK).exists()


def finish_later(store: Store) -> None:
    """Go on trying, in a thread that ends with it or with the process."""
    if store.folder not in _waiting:
        _waiting.add(store.folder)
        threading.Thread(target=_finish, args=(store,), name="erasing", daemon=True).start()


def _finish(store: Store) -> None:
    try:
        pause = threading.Event()
        while is_unfinished(store.folder):
            pause.wait(EVERY)
            scrub(store)
    finally:
        _waiting.discard(store.folder)
        store.close()
