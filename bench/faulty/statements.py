"""Every statement of a request fails once: the shop is as before or as after, never between.

After SQLite's own I/O error loops: the first statement fails, then the second, until there is none left.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from unittest.mock import patch
from uuid import uuid4

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from faulty.trial import Trial, broken, contents, kept, noise, phone_of, quotable, quote, save, upload
from intake.app import create_app
from intake.config import Settings

MOST = 500
AFTERWARDS = "COMMIT"
Ask = Callable[[], TestResponse]


class Failing(sqlite3.Connection):
    """Counts statements; the one numbered `fails` raises, a COMMIT only after it has been done if `late`."""

    seen, fails, late = 0, 0, False

    def execute(self, sql: str, *given: Any) -> sqlite3.Cursor:
        Failing.seen += 1
        broken = Failing.seen == Failing.fails
        if broken and not (Failing.late and sql == AFTERWARDS):
            raise sqlite3.OperationalError("disk I/O error")
        done = super().execute(sql, *given)
        if broken:
            raise sqlite3.OperationalError("disk I/O error")
        return done


@contextmanager
def failing(statement: int, late: bool) -> Iterator[None]:
    Failing.seen, Failing.fails, Failing.late = 0, statement, late
    try:
        yield
    finally:
        Failing.fails = 0


def every(shop: Path, what: str, late: bool = False) -> Trial:
    """`what` is save, upload or quote; with `late`, a COMMIT is done and its answer lost."""
    connect = sqlite3.connect
    with patch("intake.store.db.sqlite3.connect", lambda *a, **k: connect(*a, **k, factory=Failing)):
        app = create_app(Settings(data=shop))
        client, between, saw = phone_of(app), 0, ""
        ask, before = _ask(client, what), contents(shop)
        for turn in range(1, MOST):
            with failing(turn, late):
                answer = ask()
            if Failing.seen < turn:
                break
            saw = saw if kept(answer) else answer.text
            if contents(shop) != before:
                between += _between(shop, ask)
                ask, before = _ask(client, what), contents(shop)
            else:
                between += kept(answer)
        app.extensions["context"].store.close()
    name = f"each statement of a {what} fails" + (", its COMMIT once it is done" if late else "")
    return Trial(name, turn, between + broken(shop), saw)


def _between(shop: Path, ask: Ask) -> int:
    """What was written is the whole: who asks again gets the answer, and no second effect."""
    written = contents(shop)
    return int(not kept(ask()) or contents(shop) != written)


def _ask(client: FlaskClient, what: str) -> Ask:
    ticket, key, photo = quotable(client), str(uuid4()), noise(60, 40)
    asks: dict[str, Ask] = {
        "save": lambda: save(client, ticket, key, relief="0.008 in"),
        "upload": lambda: upload(client, ticket, key, photo),
        "quote": lambda: quote(client, ticket, key),
    }
    return asks[what]
