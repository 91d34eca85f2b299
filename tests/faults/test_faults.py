"""Each fault, a few times over: nothing that was acknowledged is lost, nothing is there by half.

`python bench/faults.py` tries the same hundreds of times and prints the table.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest
from faulty import crashes, crowds, disks, mail, statements, torn
from faulty.trial import Trial

OLDEST = Path(__file__).parents[1] / "store/schemas/01-tickets_and_steps.sql"
needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")


def held(trial: Trial, tries: int) -> None:
    assert trial.lost == 0, trial
    assert trial.tries >= tries, trial


@needs_fork
@pytest.mark.parametrize(("what", "times"), [("saves", 12), ("uploads", 8), ("quotes", 2), ("backups", 6)])
def test_kill_9(what: str, times: int, tmp_path: Path) -> None:
    trial = getattr(crashes, what)(tmp_path, times, 7)
    held(trial, times)
    assert "(0 acknowledged)" not in trial.fault


@needs_fork
def test_kill_9_while_sending_mail(tmp_path: Path) -> None:
    pytest.importorskip("aiosmtpd", reason="no aiosmtpd, so mail was not tried")
    trial = mail.sends(tmp_path, 6, 7)
    held(trial, 6)
    assert "(0 put" not in trial.fault and ", 0 taken" not in trial.fault


def test_a_torn_write_ahead_log(tmp_path: Path) -> None:
    held(torn.logs(tmp_path, 6, 7), 6)


@needs_fork
def test_kill_9_while_the_schema_is_updated(tmp_path: Path) -> None:
    held(crashes.updates(tmp_path / "at", 4, 7, OLDEST), 4)


@needs_fork
def test_kill_9_while_restoring(tmp_path: Path) -> None:
    held(crashes.restores(tmp_path, 4, 7), 4)


@pytest.mark.skipif(sys.platform != "linux", reason="needs Linux's limits")
def test_disk_full_by_a_limit(tmp_path: Path) -> None:
    trial = disks.full(tmp_path, disks.short_files, 2, "")
    held(trial, 6)
    assert "disk" in trial.saw


@pytest.fixture
def disk(tmp_path: Path):  # type: ignore[no-untyped-def]
    if not disks.may_mount(tmp_path):
        pytest.skip("may not mount a small file system")
    with disks.small_disk(tmp_path / "disk") as mounted:
        yield mounted


def test_disk_full(disk: Path) -> None:
    trial = disks.full(disk, disks.filled, 2, "")
    held(trial, 6)
    assert trial.saw == "The shop's disk is full, so this was not saved. Keep the page open and make room."


def test_read_only_disk(disk: Path) -> None:
    trial = disks.read_only(disk)
    held(trial, 1)
    assert "cannot be written to" in trial.saw


def test_a_file_that_turns_read_only(tmp_path: Path) -> None:
    trial = disks.turned_read_only(tmp_path)
    held(trial, 1)
    assert "cannot be written to" in trial.saw


def test_an_overwritten_page(tmp_path: Path) -> None:
    trial = disks.damaged_pages(tmp_path, 12, 7)
    held(trial, 12)
    assert "The newest good backup is of" in trial.saw


def test_a_photo_with_a_turned_bit(tmp_path: Path) -> None:
    held(disks.damaged_photos(tmp_path, 8, 7), 8)


def test_a_clock_that_jumps(tmp_path: Path) -> None:
    held(disks.clock_jumps(tmp_path, 8, 7), 8)


def test_two_servers_on_one_store(tmp_path: Path) -> None:
    trial = crowds.two_servers(tmp_path)
    held(trial, 1)
    assert "is in use by the server on 127.0.0.1" in trial.saw


def test_two_hundred_saves_from_fifty_phones(tmp_path: Path) -> None:
    held(crowds.crowd(tmp_path), 200)


def test_an_upload_of_two_gigabytes(tmp_path: Path) -> None:
    trial = crowds.too_large(tmp_path)
    held(trial, 2)
    assert "too large" in trial.saw


def test_slow_clients(tmp_path: Path) -> None:
    held(crowds.slow_clients(tmp_path, slow=30, saves=8), 8)


@pytest.mark.parametrize(
    ("what", "late"),
    [("save", False), ("save", True), ("upload", False), ("upload", True), ("quote", False)],
)
def test_every_statement_fails_once(what: str, late: bool, tmp_path: Path) -> None:
    held(statements.every(tmp_path, what, late), 10)
