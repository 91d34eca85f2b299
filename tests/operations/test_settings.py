"""When backups are made: the settings file, and the thread that looks at the clock."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from itertools import chain, repeat
from pathlib import Path
from time import sleep

import pytest

from intake.config import SettingsError
from intake.operations import backup_schedule
from intake.operations.backup_settings import BackupSettings, backup_settings
from intake.store.backup.archive import archives
from intake.store.db import Store

NOON = datetime(2026, 11, 25, 12, 0).astimezone()


def write(folder: Path, text: str) -> Path:
    (folder / "tallyfret.toml").write_text(text)
    return folder


def test_without_a_file_every_night_into_the_data_folder(tmp_path: Path) -> None:
    found = backup_settings(tmp_path)
    assert (found.to, found.at) == (tmp_path / "backups", time(2, 30))
    assert (found.rule.daily, found.rule.weekly, found.rule.monthly) == (7, 4, 12)


def test_the_file_says_when_where_and_how_many(tmp_path: Path) -> None:
    write(tmp_path, '[backup]\nat = 22:15:00\nto = "/media/stick"\ndaily = 30\n')
    found = backup_settings(tmp_path)
    assert (found.to, found.at, found.rule.daily) == (Path("/media/stick"), time(22, 15), 30)
    assert backup_settings(write(tmp_path, '[backup]\nat = "never"')).last_before(NOON) is None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[backup", "not TOML"),
        ("backup = 1", "is a table"),
        ("[backup]\nhour = 1", "knows no “hour”"),
        ('[backup]\nat = "late"', "not “late”"),
        ("[backup]\nat = 3", "not “3”"),
        ("[backup]\ndaily = true", "daily is a number up to 999"),
        ('[backups]\nat = "02:30"', "knows no “backups”; it has .backup. and .server."),
        ('[backup]\nto = ""', "to is a folder"),
        ("[backup]\nto = 5", "to is a folder"),
        ('[backup]\nto = "~nobody-here/x"', "to is a folder"),
        ("[backup]\nweekly = -1", "weekly is a number up to 999"),
    ],
)
def test_what_cannot_be_used_is_said(text: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match=says):
        backup_settings(write(tmp_path, text))


@pytest.mark.parametrize("hour", [0, 2, 11, 12, 23])
def test_the_last_time_was_within_a_day(hour: int, tmp_path: Path) -> None:
    last = BackupSettings(tmp_path, time(hour, 30)).last_before(NOON)
    assert last is not None and last.time() == time(hour, 30)
    assert last <= NOON < last + timedelta(1)


def test_a_shop_that_is_off_at_night_is_backed_up_when_it_opens(tmp_path: Path) -> None:
    store = Store(tmp_path / "data")
    settings = BackupSettings(tmp_path / "backups", time(2, 30))
    for day in range(3):
        opens = NOON + timedelta(days=day)
        assert backup_schedule.missed(settings, settings.last_before(opens), opens)
        assert backup_schedule.run(store.folder, settings, opens)
        later = opens + timedelta(hours=8)
        assert not backup_schedule.missed(settings, settings.last_before(later), later)
    assert len(archives(settings.to)) == 3
    store.close()


def test_a_clock_that_jumps_ahead_and_back_stops_no_backup(tmp_path: Path) -> None:
    store = Store(tmp_path / "data")
    settings = BackupSettings(tmp_path / "backups", time(2, 30))
    for moment in (NOON, NOON.replace(year=2050), NOON + timedelta(days=1)):
        assert backup_schedule.run(store.folder, settings, moment)
    assert backup_schedule.missed(
        settings, settings.last_before(NOON + timedelta(days=2)), NOON + timedelta(days=2)
    )
    made = [archive.made for archive in archives(settings.to)]
    assert NOON.astimezone(UTC) + timedelta(days=1) in made
    store.close()


def test_a_backup_that_failed_is_tried_again_the_same_day(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(backup_schedule, "LOOK", 0.01)
    monkeypatch.setattr(backup_schedule, "RETRY", 0.02)
    store = Store(tmp_path / "data")
    stick = tmp_path / "stick"
    settings = BackupSettings(stick / "shop", time(2, 30))
    with backup_schedule.daily_backups(store.folder, settings, lambda: NOON):
        for _ in range(12000):
            if caplog.text.count("Is its disk plugged in") > 1:
                stick.mkdir(exist_ok=True)
            if archives(settings.to):
                break
            sleep(0.01)
    assert len(archives(settings.to)) == 1
    store.close()


def test_the_thread_makes_the_backup_and_goes_on_after_trouble(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(backup_schedule, "LOOK", 0.01)
    store = Store(tmp_path / "data")
    (tmp_path / "backups").write_text("in the way")
    settings = BackupSettings(tmp_path / "backups", time(2, 30))
    moments = chain([NOON] * 2, repeat(NOON + timedelta(days=1)))
    done = False
    with backup_schedule.daily_backups(store.folder, settings, lambda: next(moments)):
        for _ in range(12000):
            if "backup failed" in caplog.text and not done:
                (tmp_path / "backups").unlink(missing_ok=True)
                done = True
            if archives(settings.to):
                break
            sleep(0.01)
    assert done
    assert len(archives(settings.to)) == 1
    store.close()
