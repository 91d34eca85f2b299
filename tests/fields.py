"""What a ticket holds, as a page would post it."""

from __future__ import annotations

from collections.abc import Mapping

from intake.book.answers import MAPPED
from intake.book.model import Book
from intake.book.parts import TICKS, Pair, member_of, of_pin, question_of
from intake.book.scalars import truth


def to_pairs(book: Book, values: Mapping[str, str]) -> list[Pair]:
    """Parts as the flat fields of a form."""
    return [pair for part, value in values.items() if value.strip() for pair in _pairs(book, part, value)]


def _pairs(book: Book, part: str, value: str) -> list[Pair]:
    id, member = question_of(part), member_of(part)
    question = book.questions.get(id)
    kind = question.kind if question else ""
    if kind == "pins" and member != "none":
        return [(f"{id}.{member}.{field}", held) for field, held in of_pin(value).items()]
    if kind in MAPPED and member != "none":
        return [(f"{id}.{member}", value)]
    is_item = member and kind != "measures" and (kind in TICKS or truth(value) is True)
    return [(id, member if is_item else value)]
