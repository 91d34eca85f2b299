"""One program at a time: a lock file that says who holds it. The system lets go of it with the process."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock, Timeout

from intake.store.errors import StoreError

SERVER_LOCK = "server.lock"
WIDTH = 200


class LockHeldError(StoreError):
    """Another process holds the lock; `holder` is what it wrote about itself."""

    def __init__(self, path: Path, holder: str) -> None:
        self.holder = holder or "another process"
        way_out = "Stop that one first, or choose another folder with --data."
        if path.name != SERVER_LOCK:
            way_out = "Try again once it is done."
        super().__init__(f"{path.parent} is in use by {self.holder}. {way_out}")


@contextmanager
def held(path: Path, holder: str) -> Iterator[None]:
    """Hold the lock for as long as the block runs; `holder` says what is running. Raises LockHeldError."""
    lock = FileLock(path, mode=0o600, blocking=False)
    try:
        lock.acquire()
    except Timeout:
        raise LockHeldError(path, _read(path)) from None
    except OSError as error:
        raise StoreError(f"{path.parent} cannot be written to: {error.strerror}.") from error
    try:
        _write(path, f"{holder}, process {os.getpid()}")
        yield
    finally:
        _write(path, "")
        lock.release()


def _read(path: Path) -> str:
    with suppress(OSError), path.open(encoding="utf-8", errors="replace") as file:
        file.seek(1)
        return file.read(WIDTH).strip()
    return ""


def _write(path: Path, words: str) -> None:
    """After the first byte, which is the one that Windows locks."""
    with suppress(OSError), path.open("r+b") as file:
        file.seek(1)
        file.write(words.encode()[:WIDTH].ljust(WIDTH))
