"""One backup a day, made by the running server."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from intake.operations.backup_settings import BackupSettings
from intake.store.backup.archive import archives
from intake.store.backup.backup import back_up
from intake.store.errors import StoreError

log = logging.getLogger(__name__)
LOOK = 60.0
RETRY = 3600.0


@contextmanager
def daily_backups(data: Path, settings: BackupSettings, now: Callable[[], datetime]) -> Iterator[None]:
    """Back up at the set time for as long as the block runs; one that was missed is made within a minute,
    one that failed is tried again every hour."""
    stopped = threading.Event()
    watch = threading.Thread(
        target=_watch, args=(data, settings, now, stopped), name="daily backup", daemon=True
    )
    if settings.at is not None:
        watch.start()
    try:
        yield
    finally:
        stopped.set()


def _watch(
    data: Path, settings: BackupSettings, now: Callable[[], datetime], stopped: threading.Event
) -> None:
    """Look every minute rather than sleep until then: clocks jump, and machines sleep."""
    tried, again = None, 0.0
    while not stopped.wait(LOOK):
        try:
            moment = now()
            due = settings.last_before(moment)
            if due == tried and time.monotonic() < again:
                continue
            tried, again = due, time.monotonic() + RETRY
            if missed(settings, due, moment):
                run(data, settings, moment)
        except Exception:
            log.exception("backup failed")


def missed(settings: BackupSettings, due: datetime | None, now: datetime) -> bool:
    """True if no backup has been made since that moment; one of a day to come, by a wrong clock, is none."""
    newest = next((archive.made for archive in archives(settings.to) if archive.made <= now), None)
    return due is not None and (newest is None or newest < due)


def run(data: Path, settings: BackupSettings, now: datetime) -> bool:
    """Make the backup; what goes wrong is written to the log, and the shop goes on."""
    try:
        archive = back_up(data, settings.to, now, "scheduled", settings.rule)
    except StoreError as error:
        log.error("backup failed: %s", error)
        return False
    log.info("backup made: %s", archive.folder.name)
    if missing := len(archive.manifest().missing):
        log.error("%s files are missing or changed in the data folder: tallyfret doctor names them", missing)
    return True
