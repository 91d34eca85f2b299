"""People, phones, sessions and tries, each with the moments at which they end."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from argon2 import extract_parameters
from argon2.profiles import RFC_9106_LOW_MEMORY
from hypothesis import given
from hypothesis import strategies as st
from sqlite_utils import Database

from intake.store import attempts, devices, passwords, people, sessions
from intake.store.db import Store
from intake.store.migrations.m014_attempts import attempts as attempts_schema
from intake.store.people import NameTakenError

MINUTE = timedelta(minutes=1)


@pytest.fixture
def owner(store: Store, now: datetime) -> int:
    with store.writing() as db:
        return people.add(db, "Mara Lindt", "owner", now, password_hash="x")


@pytest.fixture
def phone(store: Store, owner: int, now: datetime) -> tuple[int, str]:
    with store.writing() as db:
        enrolled = devices.enrol(db, devices.offer(db, owner, now), "Front", now)
    assert enrolled
    return enrolled


def everything(db: Database) -> str:
    return "\n".join(db.iterdump())


@pytest.mark.usefixtures("library_hasher")
def test_a_hash_is_argon2id_with_the_library_s_parameters() -> None:
    kept = passwords.hashed("4711")
    assert kept.startswith("$argon2id$") and extract_parameters(kept) == RFC_9106_LOW_MEMORY
    assert passwords.hashed("4711") != kept
    assert passwords.matches(kept, "4711") and not passwords.matches(kept, "4712")


def test_nobody_s_password_takes_as_much_work_and_is_never_right(monkeypatch: pytest.MonkeyPatch) -> None:
    kept = passwords.hashed("a good long one")
    asked: list[str] = []

    class Watched:
        def verify(self, known: str, secret: str) -> bool:
            asked.append(known)
            return True

        hash = passwords.HASHER.hash

    monkeypatch.setattr(passwords, "HASHER", Watched())
    assert passwords.matches(kept, "anything")
    assert not passwords.matches("", "anything")
    mine, nobody_s = (extract_parameters(known) for known in asked)
    assert mine == nobody_s


def test_letters_that_keyboards_compose_differently_are_the_same() -> None:
    assert passwords.matches(passwords.hashed("Caf\u00e9 au lait"), "Cafe\u0301 au lait")


@pytest.mark.parametrize(
    ("text", "good"),
    [("0000", True), ("123456", True), ("123", False), ("1234567", False), ("12a4", False), ("١٢٣٤", False)],
)
def test_a_pin_is_four_to_six_digits(text: str, good: bool) -> None:
    assert passwords.is_pin(text) is good


def test_names_are_one_person_s_and_there_is_one_owner(store: Store, owner: int, now: datetime) -> None:
    with store.writing() as db:
        id = people.add(db, "  Noor \n Amari ", "counter", now)
        assert people.named(db, "noor amari") == people.find(db, id)
    for name, role in (("NOOR AMARI", "bench"), ("Somebody Else", "owner")):
        with pytest.raises(NameTakenError), store.writing() as db:
            people.add(db, name, role, now)  # type: ignore[arg-type]
    for name in ("", "  \t", "x" * 61, "\x07"):
        with pytest.raises(ValueError), store.writing() as db:
            people.add(db, name, "counter", now)
    assert [person.name for person in people.everybody(store.db)] == ["Mara Lindt", "Noor Amari"]


def test_only_hashes_are_kept(store: Store, owner: int, now: datetime) -> None:
    with store.writing() as db:
        code = devices.offer(db, owner, now)
        enrolled = devices.enrol(db, code, "Front", now)
        assert enrolled
        session = sessions.start(db, owner, enrolled[0], now)
    kept = everything(store.db)
    assert not any(secret in kept for secret in (code, enrolled[1], session))
    assert len(code) * 5 >= 128 and len(enrolled[1]) * 6 >= 128 and len(session) * 6 >= 128


def test_a_code_enrols_one_phone_within_ten_minutes(store: Store, owner: int, now: datetime) -> None:
    with store.writing() as db:
        code, late = devices.offer(db, owner, now), devices.offer(db, owner, now)
        assert devices.offered_by(db, code, now + 9 * MINUTE) == owner
        enrolled = devices.enrol(db, code, "Front", now + 9 * MINUTE)
        assert enrolled and devices.enrol(db, code, "Back", now + 9 * MINUTE) is None
        assert devices.enrol(db, late, "Back", now + 10 * MINUTE) is None
        assert devices.enrol(db, "never made", "Back", now) is None
    found = devices.with_token(store.db, enrolled[1])
    assert found and (found.name, found.enrolled_by, found.revoked_at) == ("Front", owner, "")
    assert devices.with_token(store.db, "") is None


def test_a_session_ends_after_twelve_idle_hours_and_thirty_days(
    store: Store, owner: int, phone: tuple[int, str], now: datetime
) -> None:
    with store.writing() as db:
        token = sessions.start(db, owner, phone[0], now)
    almost = timedelta(hours=12) - timedelta(milliseconds=1)
    assert sessions.living(store.db, token, now + almost)
    assert sessions.living(store.db, token, now + timedelta(hours=12)) is None
    assert sessions.living(store.db, "another", now) is None
    moment = now
    while (session := sessions.living(store.db, token, moment)) and moment - now < timedelta(days=31):
        with store.writing() as db:
            sessions.see(db, session.id, moment)
        moment += timedelta(hours=11)
    assert timedelta(days=29, hours=12) < moment - now < timedelta(days=30, hours=12)


def test_what_a_clock_that_ran_ahead_left_behind_counts_for_nothing(
    store: Store, owner: int, phone: tuple[int, str], now: datetime
) -> None:
    ahead, key = now + timedelta(days=700), ("person", "1")
    with store.writing() as db:
        token = sessions.start(db, owner, phone[0], ahead)
        for number in range(8):
            assert attempts.begin(db, [key], ahead + number * 3 * MINUTE)
    assert sessions.living(store.db, token, ahead) and attempts.waits(store.db, key, ahead + 22 * MINUTE)

    assert sessions.living(store.db, token, now) is None
    assert not attempts.waits(store.db, key, now)
    assert attempts.locked(store.db, now) == set()
    with store.writing() as db:
        assert attempts.begin(db, [key], now)


@pytest.mark.parametrize("what", ["sign out", "turn off", "new PIN", "new password", "revoke"])
def test_a_session_can_be_ended_from_here(
    store: Store, owner: int, phone: tuple[int, str], now: datetime, what: str
) -> None:
    with store.writing() as db:
        id = people.add(db, "Noor", "counter", now, pin_hash="x")
        token, other = sessions.start(db, id, phone[0], now), sessions.start(db, owner, None, now)
        if what == "sign out":
            sessions.end(db, token, now)
        elif what == "turn off":
            people.set_active(db, id, False, now)
        elif what == "new PIN":
            people.set_pin(db, id, "y", now)
        elif what == "new password":
            people.set_password(db, id, "y", now)
        else:
            assert devices.revoke(db, phone[0], now) and not devices.revoke(db, phone[0], now)
    assert sessions.living(store.db, token, now) is None
    assert sessions.living(store.db, other, now)


def wait_until_counted(store: Store, keys: Any, moment: datetime) -> datetime:
    """The first whole second at which a try counts again."""
    for seconds in range(4000):
        with store.writing() as db:
            if attempts.begin(db, keys, moment + timedelta(seconds=seconds)):
                return moment + timedelta(seconds=seconds)
    raise AssertionError("never again")


def test_each_wrong_one_waits_longer_and_the_eighth_locks_for_an_hour(store: Store, now: datetime) -> None:
    keys, moments = [("person", "1"), ("device", "1")], [now]
    for _ in range(8):
        moments.append(wait_until_counted(store, keys, moments[-1]))
    waits = [round((b - a).total_seconds()) for a, b in pairwise(moments)]
    assert waits == sorted(waits) and waits[0] == 0 and waits[-1] > 60
    assert attempts.locked(store.db, moments[-1]) == set(keys)
    assert wait_until_counted(store, keys, moments[-1]) - moments[-1] == timedelta(hours=1)
    assert attempts.locked(store.db, moments[-1] + timedelta(hours=1)) == set()


def test_a_locked_phone_stops_every_name_on_it_and_a_locked_name_every_phone(
    store: Store, now: datetime
) -> None:
    with store.writing() as db:
        for number in range(8):
            assert attempts.begin(db, [("person", str(number)), ("device", "1")], now + number * 3 * MINUTE)
        after = now + 25 * MINUTE
        assert not attempts.begin(db, [("person", "9"), ("device", "1")], after)
        assert attempts.begin(db, [("person", "9"), ("device", "2")], after)
        attempts.clear(db, [("device", "1")])
        assert attempts.begin(db, [("person", "9"), ("device", "1")], after)


def test_old_slips_are_forgotten(store: Store, now: datetime) -> None:
    with store.writing() as db:
        for number in range(7):
            attempts.begin(db, [("person", "1")], now + number * 3 * MINUTE)
        attempts.begin(db, [("person", "1")], now + timedelta(days=2))
    assert attempts.locked(store.db, now + timedelta(days=2)) == set()


@given(st.lists(st.one_of(st.integers(0, 130), st.integers(0, 4000)), min_size=9, max_size=60))
def test_no_rhythm_gets_more_than_eight_tries_an_hour(pauses: list[int]) -> None:
    """Whatever the pauses between tries, in seconds."""
    db = Database(memory=True)
    attempts_schema(db)
    moment, counted = datetime(2026, 11, 25, tzinfo=UTC), []
    for pause in pauses:
        moment += timedelta(seconds=pause)
        if attempts.begin(db, [("person", "1")], moment):
            counted.append(moment)
    db.close()
    for first, ninth in zip(counted, counted[8:], strict=False):
        assert ninth - first > timedelta(hours=1)
