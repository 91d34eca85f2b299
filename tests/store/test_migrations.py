"""The schema comes up from nothing and from any state in between."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from intake.store.db import Store, connect
from intake.store.migrations import MIGRATIONS

NAMES = [migration.name for migration in MIGRATIONS.pending(connect(Path(":memory:")))]


def schema(store: Store) -> str:
    return store.db.schema


def test_every_table_is_strict(store: Store) -> None:
    """But for the full-text index, whose tables SQLite makes itself."""
    ours = [table for table in store.db.tables if not table.name.startswith(("_", "search"))]
    assert len(ours) >= 8
    assert all(table.strict for table in ours)


def test_opening_again_changes_nothing(store: Store) -> None:
    before = schema(store)
    assert schema(Store(store.folder)) == before


@pytest.mark.parametrize("name", NAMES)
def test_a_start_finishes_what_another_left_half_done(name: str, tmp_path: Path, store: Store) -> None:
    half = connect(tmp_path / "tallyfret.db")
    MIGRATIONS.apply(half, stop_before=name)
    half.close()
    assert schema(Store(tmp_path)) == schema(store)


def test_two_starts_at_once(tmp_path: Path, store: Store) -> None:
    with ThreadPoolExecutor(4) as threads:
        list(threads.map(lambda _: Store(tmp_path), range(4)))
    assert schema(Store(tmp_path)) == schema(store)
