"""kill -9 in the middle of saves: nothing half, nothing acknowledged lost, and a replay changes nothing."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from intake.app import create_app
from intake.config import Settings
from intake.store import events, steps, tickets

LOOP = Path(__file__).with_name("kill_loop.py")
KILLS = 20


@pytest.mark.skipif(not hasattr(__import__("os"), "fork"), reason="needs fork")
def test_what_was_acknowledged_survives_kill_9(tmp_path: Path, badge: Callable[..., dict[str, str]]) -> None:
    app = create_app(Settings(data=tmp_path))
    cookies = badge(app.extensions["desk"])
    app.extensions["desk"].store.close()
    loop = subprocess.run(
        [sys.executable, str(LOOP), str(tmp_path), str(KILLS), "7", *cookies.values()],
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert loop.returncode == 0, loop.stderr
    acknowledged = [line.split(maxsplit=3) for line in loop.stdout.splitlines()]
    assert len(acknowledged) >= KILLS // 2

    app = create_app(Settings(data=tmp_path))
    store = app.extensions["desk"].store
    assert store.db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert store.db.execute("PRAGMA foreign_key_check").fetchall() == []
    client = app.test_client()
    for name, token in cookies.items():
        client.set_cookie(name, token)
    for key, ticket, revision, relief in acknowledged:
        kept = steps.history(store.db, ticket, "neck")[int(revision) - 1]
        assert kept.fields == (("relief", relief),)
        form = {"relief": relief, "based_on": str(int(revision) - 1)}
        again = client.post(
            f"/tickets/{ticket}/steps/neck", data=form, headers={"Idempotency-Key": key, "Device": "d"}
        )
        assert (again.status_code, again.headers["Saved-Key"]) == (200, key)
    for ticket in tickets.board(store.db, limit=100_000):
        past = steps.history(store.db, ticket.id, "neck")
        told = [event["what"] for event in events.of_ticket(store.db, ticket.id)]
        assert told == ["ticket opened", *["step saved"] * len(past)]
        assert past
    assert store.db.table("keys").count == store.db.table("steps").count
    store.close()
