"""One program at a time: a lock file that says who holds it. The system lets go of it with the process."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

from intake.store.errors import StoreError

SERVER_LOCK = "server.lock"


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
    """Hold the lock for as long as the block runs; `holder` says what is running. Raises Taken."""
    with _opened(path) as file:
        try:
            _lock(file)
        except OSError:
            raise LockHeldError(path, _said(file)) from None
        try:
            _say(file, f"{holder}, process {os.getpid()}")
            yield
        finally:
            _say(file, "")
            _unlock(file)


def _opened(path: Path) -> IO[str]:
    try:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    except OSError as error:
        raise StoreError(f"{path.parent} cannot be written to: {error.strerror}.") from error
    return os.fdopen(handle, "r+", encoding="utf-8")


def _said(file: IO[str]) -> str:
    with suppress(OSError):
        file.seek(1)
        return file.read(200).strip()
    return ""


def _say(file: IO[str], words: str) -> None:
    """After the first byte, which is the one that Windows locks."""
    with suppress(OSError):
        file.seek(0)
        file.truncate()
        file.write(f" {words}")
        file.flush()


if os.name == "nt":
    import msvcrt

    def _lock(file: IO[str]) -> None:
        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]

    def _unlock(file: IO[str]) -> None:
        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_UNLCK, 1)  # type: ignore[attr-defined]

else:
    import fcntl

    def _lock(file: IO[str]) -> None:
        fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)

    def _unlock(file: IO[str]) -> None:
        fcntl.flock(file.fileno(), fcntl.LOCK_UN)
