"""Words of the book for an answer: what a choice, a step or a question is called."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any

from intake.book.model import Book, Choice
from intake.book.text import Text


def choice(book: Book, question: str, value: Any, language: str) -> str:
    """The label of a chosen id; the value itself where the book has no label for it."""
    asked = book.questions.get(question)
    return _label(asked.values if asked else (), value, language)


def member(book: Book, kind: str, value: Any, language: str) -> str:
    """The label of a pin's part, kind or state: `kind` is `parts`, `kinds` or `states`."""
    asked = book.questions.get("pins")
    return _label(getattr(asked, kind) if asked else (), value, language)


def question(book: Book, id_: str, language: str) -> str:
    """What a question is called; its id in words where the book does not ask it."""
    asked = book.questions.get(id_)
    return asked.label.in_(language) if asked else id_.replace("_", " ").capitalize()


def job(book: Book, id_: str, language: str) -> str:
    """What a job is called."""
    known = book.jobs.get(id_)
    return known.name.in_(language) if known else id_.replace("-", " ")


def words(answers: Mapping[str, Any], id_: str) -> str:
    """An answer in words, stripped; empty if not given."""
    value = answers.get(id_)
    if isinstance(value, Fraction):
        return str(value)
    return str(value).strip() if value not in (None, (), []) else ""


def texts(language: str, several: Iterable[Text | None]) -> list[str]:
    """Texts in the language, each once, empty ones left out."""
    return list(dict.fromkeys(text.in_(language) for text in several if text and text.in_(language)))


def _label(choices: Iterable[Choice], value: Any, language: str) -> str:
    text = str(value)
    return next((c.label.in_(language) for c in choices if c.id == text), text.replace("_", " "))
