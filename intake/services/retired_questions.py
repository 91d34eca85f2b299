"""Answers to what the book in force no longer asks: a phone that was out of reach still asked it."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from functools import lru_cache

from sqlite_utils import Database

from intake.book.model import Book
from intake.store import revisions

LOOKED_AT = 20  # revisions back from the one in force


def fields_asked_before(
    db: Database, book: Book, step: str, posted: Iterable[tuple[str, str]]
) -> tuple[tuple[str, str], ...]:
    """The posted pairs that an earlier revision asked on this step and this book asks nowhere.

    They are kept with their step, so that an answer given is an answer stored; nothing reads them before a
    book asks again.
    """
    left = [
        (name, text) for name, text in posted if name and text.strip() and _stem(name) not in book.questions
    ]
    if not [name for name, _ in left if name not in ("based_on", "passed", "key")]:
        return ()
    asked = _asked(db, step)
    return tuple(pair for pair in left if _stem(pair[0]) in asked)


def _stem(name: str) -> str:
    return name.split(".")[0]


def _asked(db: Database, step: str) -> frozenset[str]:
    found = revisions.latest(db, LOOKED_AT)
    files = (revisions.files_of(db, one.number).get("checklist.toml", b"") for one in found)
    return frozenset(id for text in files for id, of in _questions(text) if of == step)


@lru_cache(LOOKED_AT)
def _questions(checklist: bytes) -> tuple[tuple[str, str], ...]:
    """(id, step) of each question; none where the file cannot be read any more."""
    try:
        asked = tomllib.loads(checklist.decode("utf-8")).get("question", [])
    except (UnicodeDecodeError, tomllib.TOMLDecodeError):
        return ()
    return tuple((str(one.get("id")), str(one.get("step"))) for one in asked)
