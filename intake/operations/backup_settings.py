"""When the shop backs itself up, and where to: the table `[backup]` of `tallyfret.toml` in the data folder.

[backup]
at = "02:30"              # the machine's own time; "never" leaves it to you
to = "/media/stick/shop"  # else the folder `backups` beside the data
daily = 7                 # how many days, weeks and months keep their newest
weekly = 4
monthly = 12
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any

from intake.config import SETTINGS_FILE, SettingsError, settings_table
from intake.store.backup.retention import Rule
from intake.store.db import Store
from intake.store.scrubbing import is_unfinished, scrub

KEPT = ("daily", "weekly", "monthly")
NEVER = "never"


@dataclass(frozen=True)
class BackupSettings:
    """`at` is None where no backup is scheduled."""

    to: Path
    at: time | None = time(2, 30)
    rule: Rule = field(default_factory=Rule)

    def last_before(self, moment: datetime) -> datetime | None:
        """When the latest one was due, in the machine's time zone."""
        if self.at is None:
            return None
        today = moment.astimezone().date()
        times = (datetime.combine(today - timedelta(by), self.at).astimezone() for by in (-1, 0, 1, 2))
        return max(due for due in times if due <= moment)


def backup_settings(data: Path) -> BackupSettings:
    """What the file says, else the usual. Raises SettingsError."""
    table = settings_table(data, "backup")
    unknown = sorted(set(table) - {"at", "to", *KEPT})
    if unknown:
        raise SettingsError(f"{data / SETTINGS_FILE}: [backup] knows no “{unknown[0]}”.")
    counts = {name: _count(data, name, table.get(name, getattr(Rule(), name))) for name in KEPT}
    return BackupSettings(
        _to(data, table.get("to", "backups")), _at(data, table.get("at", "02:30")), Rule(**counts)
    )


def open_store(data: Path) -> Store:
    """The shop's store, its backups where the settings have them. Raises SettingsError and StoreError.

    What an erasure left in the log is gone after it.
    """
    store = Store(data, backup_settings(data).to)
    if is_unfinished(data):
        scrub(store)
    return store


def _to(data: Path, written: Any) -> Path:
    try:
        to = data / Path(written).expanduser() if isinstance(written, str) else data
    except RuntimeError:  # ~somebody who is not there
        to = data
    if to.resolve() == data.resolve():
        raise SettingsError(
            f"{data / SETTINGS_FILE}: [backup] to is a folder such as “/media/stick/shop”, not “{written}”."
        )
    return to


def _at(data: Path, written: Any) -> time | None:
    if written == NEVER:
        return None
    try:
        return written if isinstance(written, time) else time.fromisoformat(written)
    except (TypeError, ValueError):
        raise SettingsError(
            f"{data / SETTINGS_FILE}: [backup] at is a time such as “02:30”, or “never”, not “{written}”."
        ) from None


def _count(data: Path, name: str, written: Any) -> int:
    if type(written) is not int or not 0 <= written < 1000:
        raise SettingsError(
            f"{data / SETTINGS_FILE}: [backup] {name} is a number up to 999, not “{written}”."
        )
    return written
