"""What surrounds a running server: the data folder is its own, and is backed up every day."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from intake.config import utc_now
from intake.operations.backup_schedule import daily_backups
from intake.operations.backup_settings import backup_settings
from intake.store.backup.lock import SERVER_LOCK, held
from intake.store.errors import StoreError


@contextmanager
def keeping(data: Path, server: str, now: Callable[[], datetime] = utc_now) -> Iterator[None]:
    """Hold the data folder for the server that the words name, for as long as the block runs.

    Raises StoreError (lock.Taken if another server holds it) and SettingsError.
    """
    try:
        data.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(f"{error.filename or data} cannot be made: {error.strerror}.") from error
    settings = backup_settings(data)
    with held(data / SERVER_LOCK, server), daily_backups(data, settings, now):
        yield
