"""A phone that the shop knows, with somebody signed in: what a benchmark needs to get past the gate."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from intake.store import devices, people, sessions
from intake.store.db import Store


def cookie(data: Path, prefix: str = "", now: datetime | None = None) -> str:
    """The Cookie header; `prefix` is `__Host-` over https, `now` the shop's clock."""
    store, now = Store(data), now or datetime.now(UTC)
    with store.writing() as db:
        known = people.owner(db)
        owner = known.id if known else people.add(db, "Bench", "owner", now)
        enrolled = devices.enrol(db, devices.offer(db, owner, now), "Bench", now)
        assert enrolled
        token = sessions.start(db, owner, enrolled[0], now)
    store.close()
    return f"{prefix}device={enrolled[1]}; {prefix}session={token}"
