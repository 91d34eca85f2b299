"""A part of which several values wait for somebody to choose, as pages show it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from intake.book.model import Book, Choice, Question
from intake.book.parts import PASSED, PHOTOS, member_of, of_pin, question_of, truth
from intake.book.text import Text
from intake.i18n import _, current_language
from intake.store.edits import Row, Standing


@dataclass(frozen=True)
class Side:
    """One of the values; `says` as a person reads it."""

    edit: Row
    says: str


@dataclass(frozen=True)
class Clash:
    """`base` are the ids of all its values, which an edit that chooses among them names."""

    part: str
    step: str
    label: str
    base: str
    sides: tuple[Side, ...]
    order: int


def clash_of(book: Book, held: Standing, sides: Sequence[Row]) -> Clash:
    """The clash of a part, each value in words."""
    question = book.questions.get(question_of(held.part))
    order = list(book.questions).index(question.id) if question else len(book.questions)
    return Clash(
        held.part,
        _step_of(held.part, question),
        label_of(book, held.part),
        " ".join(held.heads),
        tuple(Side(edit, words_of(book, held.part, edit.value)) for edit in sides),
        order,
    )


def _step_of(part: str, question: Question | None) -> str:
    return part.removeprefix(PASSED) if part.startswith(PASSED) else question.step if question else ""


def label_of(book: Book, part: str) -> str:
    """What a part is called."""
    if part.startswith(PASSED):
        step = next((step for step in book.steps if step.id == part.removeprefix(PASSED)), None)
        return step.name.in_(current_language()) if step else part
    if part.startswith(PHOTOS):
        return _("Photo")
    question, member = book.questions.get(question_of(part)), member_of(part)
    if question is None:
        return part
    if not member or question.kind == "pins":
        return question.label.in_(current_language())
    return f"{question.label.in_(current_language())}: {_named((*question.parts, *question.values), member)}"


def words_of(book: Book, part: str, value: str) -> str:
    """A value as a person reads it."""
    passed = {"not_assessed": _("Not assessed"), "all_sound": _("All sound")}
    if part.startswith(PHOTOS):
        return _("on the ticket") if value.strip() else _("taken away")
    if not value.strip():
        return _("nothing")
    if part.startswith(PASSED):
        return passed.get(value, value)
    question = book.questions.get(question_of(part))
    if question is None:
        return value
    if question.kind == "pins" and member_of(part) != "none":
        return _pin_words(question, value)
    if truth(value) is not None and (question.kind == "yes_no" or member_of(part)):
        return _("yes") if truth(value) else _("no")
    return _named((*question.values, *question.states), value)


def _pin_words(question: Question, value: str) -> str:
    pin = of_pin(value)
    offered = {"kind": question.kinds, "state": question.states, "part": question.parts}
    named = [
        _named(offered.get(name, ()), pin[name])
        for name in ("kind", "state", "size", "count", "part")
        if name in pin
    ]
    return ", ".join(named)


def _named(offered: tuple[Choice, ...], id: str) -> str:
    labels: dict[str, Text] = {choice.id: choice.label for choice in offered}
    return labels[id].in_(current_language()) if id in labels else id
