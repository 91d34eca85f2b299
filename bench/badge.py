"""A phone that the shop knows, with somebody signed in: what a benchmark needs to get past the gate."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from intake.store import devices, people, sessions
from intake.store.db import Store


def cookie(data: Path, prefix: str = "") -> str:
    """The Cookie header; `prefix` is `__Host-` over https."""
    store, now = Store(data), datetime.now(UTC)
    with store.writing() as db:
        owner = people.add(db, "Bench", "owner", now)
        enrolled = devices.enrol(db, devices.offer(db, owner, now), "Bench", now)
        assert enrolled
        token = sessions.start(db, owner, enrolled[0], now)
    store.close()
    return f"{prefix}device={enrolled[1]}; {prefix}session={token}"
