"""What every route needs: the shop's book, the store and the clock."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import cast

from flask import current_app

from intake.book.load import load_book
from intake.book.model import Book, Step
from intake.counter.summary import Summaries
from intake.store import books
from intake.store.db import Store


@dataclass
class Desk:
    """`now` gives the moment with its zone; `running` holds the keys of requests under way."""

    book: Book
    store: Store
    now: Callable[[], datetime]
    summaries: Summaries
    running: set[str] = field(default_factory=set)
    old_books: dict[str, Book] = field(default_factory=dict)
    lock: threading.Lock = field(default_factory=threading.Lock)

    @property
    def today(self) -> date:
        """The day at the counter: the machine's zone, not UTC's."""
        return self.now().astimezone().date()

    def book_of(self, digest: str) -> Book:
        """The book that an old quote was made with. Raises KeyError if the store never had it."""
        if digest == self.book.digest:
            return self.book
        with self.lock:
            if digest not in self.old_books:
                with TemporaryDirectory() as folder:
                    books.unpack(self.store.db, digest, Path(folder))
                    self.old_books[digest] = load_book(Path(folder))
            return self.old_books[digest]

    def step(self, step: str) -> Step | None:
        """The step with that id."""
        return next((known for known in self.book.steps if known.id == step), None)


def desk() -> Desk:
    """The desk of the running app."""
    return cast(Desk, current_app.extensions["desk"])
