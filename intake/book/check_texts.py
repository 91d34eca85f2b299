"""Texts: a language that the shop speaks and the book does not, and sentences too long for their place."""

from __future__ import annotations

from collections.abc import Iterator

from intake.book.check_names import texts_of
from intake.book.model import Book, Text
from intake.book.problems import Problem

MOST_NAME = 60
MOST_SENTENCE = 400


def text_problems(book: Book) -> list[Problem]:
    """Missing translations of what customers read, and text that does not fit."""
    return [*_of_tables(book), *_of_lists(book)]


def _of_tables(book: Book) -> Iterator[Problem]:
    for table in book.tables.values():
        for row, column, words in texts_of(table):
            if len(words) > MOST_SENTENCE:
                yield Problem(table.file, row.line, column, _too_long(words, MOST_SENTENCE))
        for row in table.rows:
            for name, value in row.outputs.items():
                if isinstance(value, Text):
                    for language in _missing(value, book):
                        sentence = "This sentence is not in a language that the shop lists."
                        yield Problem(table.file, row.line, f"then {name} [{language}]", sentence)


def _of_lists(book: Book) -> Iterator[Problem]:
    texts = [("jobs.csv", job.id, "name", job.name, MOST_NAME) for job in book.jobs.values()]
    texts += [
        ("jobs.csv", job.id, "caution", job.caution, MOST_SENTENCE)
        for job in book.jobs.values()
        if job.caution
    ]
    texts += [("operations.csv", one.id, "name", one.name, MOST_NAME) for one in book.operations.values()]
    texts += [("parts.csv", part.id, "name", part.name, MOST_NAME) for part in book.parts.values()]
    for file, id, column, text, most in texts:
        row = book.places.get((file, id))
        for language, words in text.items():
            if len(words) > most:
                yield Problem(file, row, _heading(column, language), _too_long(words, most))
        for language in _missing(text, book):
            sentence = f"“{text}” is not in a language that the shop lists."
            yield Problem(file, row, _heading(column, language), sentence)


def _heading(column: str, language: str) -> str:
    return column if language == "en" else f"{column} [{language}]"


def _missing(text: Text, book: Book) -> list[str]:
    if not text.get("en"):
        return []
    return [language for language in book.shop.languages if not text.get(language)]


def _too_long(words: str, most: int) -> str:
    return f"{len(words)} characters do not fit; {most} is the most: “{words[:40]}…”."
