"""How a moment is written, wherever the machine stands."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone

import pytest

from intake.store.timestamps import stamp


@pytest.fixture
def far_west(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The machine's own clock is eight hours behind UTC."""
    monkeypatch.setenv("TZ", "FAR8")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.skipif(os.name != "posix", reason="the zone of a process is set the POSIX way")
@pytest.mark.usefixtures("far_west")
@pytest.mark.parametrize("zone", [UTC, timezone(timedelta(hours=2))])
def test_a_moment_is_written_in_utc_whatever_zone_the_machine_has(zone: timezone) -> None:
    moment = datetime(2026, 11, 25, 15, 0, tzinfo=UTC).astimezone(zone)

    assert stamp(moment) == "2026-11-25T15:00:00.000Z"
