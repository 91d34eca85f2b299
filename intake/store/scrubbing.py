"""After an erasure: database file and log are written anew, so that nothing erased stays readable.

SQLite's write-ahead log keeps old pages for as long as somebody reads the state from before. A mark in the
data folder says that the log is still to be emptied; it outlasts a restart.
"""

from __future__ import annotations

import sqlite3
import threading
from pathlib import Path

from intake.store.db import Store

MARK = "erasing"
EVERY = 5.0
_waiting: set[Path] = set()


def scrub(store: Store) -> bool:
    """Write file and log anew. False, with the mark left, while a reader or writer holds on to what was."""
    mark = store.folder / MARK
    mark.touch(mode=0o600)
    try:
        store.db.conn.execute("VACUUM")
        (held, *_) = store.db.conn.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    except sqlite3.OperationalError:
        return False
    if not held:
        mark.unlink(missing_ok=True)
    return not held


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
        while is_unfinished(store.folder) and not scrub(store):
            pause.wait(EVERY)
    finally:
        _waiting.discard(store.folder)
        store.close()
