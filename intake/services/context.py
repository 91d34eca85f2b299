"""What every route needs: the book in force, the store and the clock."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from intake.book.files.load import load_book
from intake.book.model import Book, Step
from intake.services.estimates import Estimates
from intake.store import books, revisions
from intake.store.db import Store

KEPT = 16
"""Books of old quotes held at once."""


@dataclass(frozen=True)
class CurrentBook:
    """A book with the summaries made from it."""

    book: Book
    summaries: Estimates


@dataclass
class Context:
    """`now` gives the moment with its zone; `running` holds the keys of requests under way; `request_cache`
    gives what the request under way keeps to itself, None outside of one."""

    store: Store
    now: Callable[[], datetime]
    running: set[str] = field(default_factory=set)
    old_books: dict[str, Book] = field(default_factory=dict)
    lock: threading.Lock = field(default_factory=threading.Lock)
    request_cache: Callable[[], dict[str, Any] | None] = lambda: None
    _held: CurrentBook | None = None

    @property
    def book(self) -> Book:
        """The book in force. A request keeps to the one that it began with."""
        return self._in_force().book

    @property
    def summaries(self) -> Estimates:
        """Quotes of late with the book in force."""
        return self._in_force().summaries

    def _in_force(self) -> CurrentBook:
        """The store says which book that is, so that every thread and process changes over at once."""
        cache = self.request_cache()
        if cache is None:
            return self._look_up()
        if "current_book" not in cache:
            cache["current_book"] = self._look_up()
        found: CurrentBook = cache["current_book"]
        return found

    def _look_up(self) -> CurrentBook:
        revision, held = revisions.in_force(self.store.db), self._held
        if revision is None:
            raise LookupError("no book is in force yet")
        if held is None or held.book.digest != revision.digest:
            book = self._of_digest(revision.digest)
            held = self._held = CurrentBook(book, Estimates(book))
        return held

    @property
    def wall(self) -> datetime:
        """The time on the shop's wall: the machine's zone, not UTC's."""
        return on_the_wall(self.now())

    @property
    def today(self) -> date:
        """The day at the counter."""
        return self.wall.date()

    def book_of(self, digest: str) -> Book:
        """The book that an old quote was made with. Raises KeyError if the store never had it."""
        held = self._held
        return held.book if held and held.book.digest == digest else self._of_digest(digest)

    def remember(self, book: Book) -> None:
        """Keep a book that was loaded already, which the store holds or is about to."""
        with self.lock:
            self.old_books[book.digest] = book

    def _of_digest(self, digest: str) -> Book:
        with self.lock:
            if digest not in self.old_books:
                while len(self.old_books) >= KEPT:
                    del self.old_books[next(iter(self.old_books))]
                with TemporaryDirectory() as folder:
                    books.unpack(self.store.db, digest, Path(folder))
                    self.old_books[digest] = load_book(Path(folder))
            return self.old_books[digest]

    def step(self, step: str) -> Step | None:
        """The step with that id."""
        return next((known for known in self.book.steps if known.id == step), None)


def on_the_wall(moment: datetime) -> datetime:
    """A moment as the shop's clock shows it, without a zone."""
    return moment.astimezone().replace(tzinfo=None)
