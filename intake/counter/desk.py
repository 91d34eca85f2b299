"""What every route needs: the shop's book, the store and the clock."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import cast

from flask import current_app

from intake.book.model import Book, Step
from intake.store.db import Store


@dataclass
class Desk:
    """`now` gives the moment with its zone; `running` holds the keys of requests under way."""

    book: Book
    store: Store
    now: Callable[[], datetime]
    running: set[str] = field(default_factory=set)
    lock: threading.Lock = field(default_factory=threading.Lock)

    @property
    def today(self) -> date:
        """The day at the counter: the machine's zone, not UTC's."""
        return self.now().astimezone().date()

    def step(self, step: str) -> Step | None:
        """The step with that id."""
        return next((known for known in self.book.steps if known.id == step), None)


def desk() -> Desk:
    """The desk of the running app."""
    return cast(Desk, current_app.extensions["desk"])
