"""Entries of a step: appended, never overwritten; clashes kept with both sides."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from uuid import uuid4

from hypothesis import given
from hypothesis import strategies as st

from intake.store import steps, tickets
from intake.store.db import Store
from intake.store.steps import Entry, Saved


def entry(relief: str, device: str = "a", passed: str = "") -> Entry:
    return Entry("neck", (("relief", relief),), passed, device)


def save(store: Store, ticket: str, now: datetime, new: Entry, based_on: int) -> Saved:
    with store.writing() as db:
        return steps.save(db, ticket, new, based_on, now)


def test_each_save_is_a_revision(store: Store, ticket: str, now: datetime) -> None:
    save(store, ticket, now, entry("0.008 in"), 0)
    save(store, ticket, now, entry("0.010 in"), 1)
    assert [old.fields[0][1] for old in steps.history(store.db, ticket, "neck")] == ["0.008 in", "0.010 in"]
    assert steps.latest(store.db, ticket)["neck"].revision == 2


def test_following_the_own_earlier_entry_is_no_clash(store: Store, ticket: str, now: datetime) -> None:
    """Both were made offline, before the answer to the first had come."""
    save(store, ticket, now, entry("0.008 in"), 0)
    assert save(store, ticket, now, entry("0.010 in"), 0).refused is None


def test_two_devices_clash_and_both_values_stand(store: Store, ticket: str, now: datetime) -> None:
    save(store, ticket, now, entry("0.008 in", "a"), 0)
    saved = save(store, ticket, now, entry("0.012 in", "b"), 0)
    assert saved.refused is not None and saved.entry.fields == (("relief", "0.008 in"),)
    assert steps.open_clashes(store.db, ticket)["neck"].fields == (("relief", "0.012 in"),)


def test_choosing_settles_the_clash(store: Store, ticket: str, now: datetime) -> None:
    save(store, ticket, now, entry("0.008 in", "a"), 0)
    save(store, ticket, now, entry("0.012 in", "b"), 0)
    assert save(store, ticket, now, entry("0.012 in", "b"), 1).refused is None
    assert steps.open_clashes(store.db, ticket) == {}


def test_another_device_s_ordinary_save_does_not_hide_the_clash(
    store: Store, ticket: str, now: datetime
) -> None:
    save(store, ticket, now, entry("0.008 in", "a"), 0)
    save(store, ticket, now, entry("0.012 in", "b"), 0)
    save(store, ticket, now, entry("0.009 in", "a"), 1)
    assert steps.open_clashes(store.db, ticket)["neck"].fields == (("relief", "0.012 in"),)


def test_another_device_may_take_what_was_lost(store: Store, ticket: str, now: datetime) -> None:
    save(store, ticket, now, entry("0.008 in", "a"), 0)
    save(store, ticket, now, entry("0.012 in", "b"), 0)
    save(store, ticket, now, entry("0.012 in", "a"), 1)
    assert steps.open_clashes(store.db, ticket) == {}


def test_the_same_words_from_two_devices_are_no_clash(store: Store, ticket: str, now: datetime) -> None:
    save(store, ticket, now, entry("0.008 in", "a"), 0)
    assert save(store, ticket, now, entry("0.008 in", "b"), 0).refused is None
    assert save(store, ticket, now, entry("0.010 in", "b"), 0).refused is None


def test_an_own_entry_does_not_hide_another_device_s_later_one(
    store: Store, ticket: str, now: datetime
) -> None:
    save(store, ticket, now, entry("0.008 in", "a"), 0)
    save(store, ticket, now, entry("0.012 in", "b"), 1)
    assert save(store, ticket, now, entry("0.010 in", "a"), 0).refused is not None


def test_without_a_device_nobody_follows_themselves(store: Store, ticket: str, now: datetime) -> None:
    save(store, ticket, now, entry("0.008 in", ""), 0)
    assert save(store, ticket, now, entry("0.012 in", ""), 0).refused is not None


def test_a_revision_from_the_future_is_taken_as_the_newest(store: Store, ticket: str, now: datetime) -> None:
    save(store, ticket, now, entry("0.008 in", "a"), 0)
    assert save(store, ticket, now, entry("0.012 in", "b"), 99).entry.revision == 2


ACTIONS = st.lists(
    st.tuples(
        st.sampled_from("abc"),
        st.sampled_from(["1", "2", "3"]),
        st.integers(0, 6),
        st.sampled_from(["", "all_sound"]),
    ),
    max_size=12,
)


@given(ACTIONS)
def test_nothing_typed_is_ever_lost(actions: list[tuple[str, str, int, str]]) -> None:
    now = datetime.fromisoformat("2026-11-25T15:00:00+00:00")
    with TemporaryDirectory() as folder:
        store, ticket = Store(Path(folder)), str(uuid4())
        with store.writing() as db:
            tickets.ensure(db, ticket, now)
            for device, relief, based_on, passed in actions:
                steps.save(db, ticket, entry(relief, device, passed), based_on, now)
        history = steps.history(store.db, ticket, "neck")
        clashed = list(store.db.query("select fields, passed from clashes"))
        kept = {(old.fields[0][1], old.passed) for old in history}
        kept |= {(row["fields"].split('"')[3], row["passed"]) for row in clashed}
        values = {relief for relief, _ in kept}
        for _, relief, _, passed in actions:  # no pass takes back no other's
            assert relief in values and (not passed or (relief, passed) in kept)
        assert [old.revision for old in history] == list(range(1, len(history) + 1))
        store.close()
