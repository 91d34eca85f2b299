"""A store in a fresh folder, and a moment to write down."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import pytest

from intake.store import tickets
from intake.store.db import Store


@pytest.fixture
def now() -> datetime:
    return datetime(2026, 11, 25, 15, 0, tzinfo=UTC)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    store = Store(tmp_path / "data")
    yield store
    store.close()


@pytest.fixture
def ticket(store: Store, now: datetime) -> str:
    """A ticket that stands."""
    id = str(uuid4())
    with store.writing() as db:
        tickets.ensure(db, id, now)
    return id
