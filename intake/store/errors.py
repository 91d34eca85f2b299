"""What is wrong with the shop's data, as one sentence for whoever starts the program."""

from __future__ import annotations

import shlex
import sqlite3
from pathlib import Path


class StoreError(Exception):
    """The data folder cannot be used as it is; the text says why, and what to do."""


class BusyError(sqlite3.OperationalError):
    """Another thread of this program kept the write lock for too long; named as SQLite names its own."""

    sqlite_errorcode = sqlite3.SQLITE_BUSY
    sqlite_errorname = "SQLITE_BUSY"


def typed(data: Path, *words: str | Path) -> str:
    """The command on that data folder as it is to be typed, quoted where a shell would take it apart."""
    return shlex.join(["tallyfret", "--data", str(data), *map(str, words)])
