"""Connections and transactions."""

from __future__ import annotations

import sqlite3
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from functools import partial
from threading import Event
from uuid import uuid4

import pytest

from intake.store import events, opening, tickets
from intake.store.db import Store


def test_a_connection_has_every_setting(store: Store) -> None:
    def held(pragma: str) -> object:
        return store.db.execute(f"PRAGMA {pragma}").fetchone()[0]

    full = 2
    assert (held("journal_mode"), held("synchronous"), held("foreign_keys")) == ("wal", full, 1)
    assert held("busy_timeout") == 5000


def test_a_failed_transaction_leaves_nothing(store: Store, now: datetime) -> None:
    id = str(uuid4())
    with pytest.raises(RuntimeError, match="half way"), store.writing() as db:
        tickets.ensure(db, id, now)
        events.record(db, "ticket opened", now, ticket=id)
        raise RuntimeError("half way")
    assert tickets.find(store.db, id) is None
    assert events.of_ticket(store.db, id) == []


def test_read_then_write_from_many_threads_loses_nothing(store: Store, ticket: str, now: datetime) -> None:
    """In a deferred transaction this fails at once with SQLITE_BUSY_SNAPSHOT."""

    def add(_: int) -> None:
        with store.writing() as db:
            held = tickets.find(db, ticket)
            assert held is not None
            tickets.change(db, ticket, now, serial=str(int(held.serial or 0) + 1))

    with ThreadPoolExecutor(6) as threads:
        list(threads.map(add, range(60)))
    found = tickets.find(store.db, ticket)
    assert found is not None and found.serial == "60"


def test_a_writer_waits_for_another_program(store: Store, ticket: str, now: datetime) -> None:
    """A second store on the same file, as another process has it: no lock of this one's threads is shared."""
    begun = Event()

    def hold() -> None:
        other = Store(store.folder)
        with other.writing() as db:
            tickets.change(db, ticket, now, serial="theirs")
            begun.set()
            time.sleep(0.2)
        other.close()

    with ThreadPoolExecutor(1) as thread:
        held = thread.submit(hold)
        assert begun.wait(120)
        with store.writing() as db:
            found = tickets.find(db, ticket)
            assert found is not None and found.serial == "theirs"
            tickets.change(db, ticket, now, name="Ours")
        held.result()


def test_reads_in_one_block_see_one_state(store: Store, ticket: str, now: datetime) -> None:
    with store.reading() as db:
        before = tickets.find(db, ticket)
        with ThreadPoolExecutor(1) as thread:
            thread.submit(rename, store, ticket, now).result()
        assert tickets.find(db, ticket) == before
    after = tickets.find(store.db, ticket)
    assert after is not None and after.name == "Renamed"


def rename(store: Store, ticket: str, now: datetime) -> None:
    with store.writing() as db:
        tickets.change(db, ticket, now, name="Renamed")


def test_a_check_that_takes_long_is_left_to_the_backups(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    """SQLite looks at a whole table in one step; this one never ends."""

    class Large(sqlite3.Connection):
        def execute(self, sql: str, *values: object) -> sqlite3.Cursor:
            endless = "with recursive n(i) as (select 1 union all select i from n) select max(i) from n"
            return super().execute(endless if "quick_check" in sql else sql, *values)

    monkeypatch.setattr(opening, "PATIENCE", 0.05)
    monkeypatch.setattr(sqlite3, "connect", partial(sqlite3.connect, factory=Large))
    opening.prepare(store.folder, (), store.backups)


def test_a_row_without_its_ticket_is_refused(store: Store, now: datetime) -> None:
    with pytest.raises(sqlite3.IntegrityError), store.writing() as db:
        events.record(db, "step saved", now, ticket="no such ticket")


def test_a_moment_without_a_zone_is_refused(store: Store) -> None:
    with pytest.raises(ValueError, match="time zone"), store.writing() as db:
        tickets.ensure(db, str(uuid4()), datetime(2026, 11, 25))
