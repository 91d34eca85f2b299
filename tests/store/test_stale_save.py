"""A save from a page that is older than the step's newest revision takes nothing back."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from sqlite_utils import Database

from intake.store import steps, tickets
from intake.store.steps import Entry

NOW = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)
T = "0190a1b2-0000-7000-8000-000000000001"


@pytest.fixture
def db(ctx: Any) -> Any:
    with ctx.store.writing() as db:
        tickets.ensure(db, T, NOW)
        yield db


def save(db: Database, fields: dict[str, str], based_on: int, device: str = "a", passed: str = "") -> Any:
    return steps.save(db, T, Entry("neck", tuple(fields.items()), passed, device), based_on, NOW)


def held(db: Database) -> dict[str, str]:
    return dict(steps.latest(db, T)["neck"].fields)


def test_a_page_that_came_blank_keeps_what_its_own_device_had_stored(db: Database) -> None:
    save(db, {"relief": "0.010 in"}, 0)

    saved = save(db, {"twist": "none"}, 0)

    assert held(db) == {"relief": "0.010 in", "twist": "none"}
    assert saved.unseen == (("relief", "0.010 in"),)


def test_what_another_device_wrote_since_is_kept_too(db: Database) -> None:
    save(db, {"relief": "0.010 in"}, 0)
    save(db, {"relief": "0.010 in", "heel_gap": "1/64 in"}, 1, device="b")
    save(db, {"relief": "0.012 in", "heel_gap": "1/64 in"}, 2)

    save(db, {"twist": "none"}, 0)

    assert held(db) == {"relief": "0.012 in", "heel_gap": "1/64 in", "twist": "none"}


def test_a_page_that_has_seen_the_value_takes_it_back(db: Database) -> None:
    save(db, {"relief": "0.010 in", "twist": "none"}, 0)

    save(db, {"twist": "none"}, 1)

    assert held(db) == {"twist": "none"}


def test_of_a_pin_one_side_stands_whole(db: Database) -> None:
    save(db, {"pins.1.kind": "crack", "pins.1.size": "3 in", "pins.2.kind": "dent"}, 0)

    save(db, {"pins.1.kind": "dent"}, 0)

    assert held(db) == {"pins.1.kind": "dent", "pins.2.kind": "dent"}


@pytest.mark.parametrize(("passed", "stands"), [("all_sound", "all_sound"), ("not_assessed", "")])
def test_how_the_step_was_passed_is_kept_unless_something_is_filled_in(
    db: Database, passed: str, stands: str
) -> None:
    save(db, {"relief": "0.010 in"}, 0, passed=passed)

    save(db, {"twist": "none"}, 0)

    assert steps.latest(db, T)["neck"].passed == stands
