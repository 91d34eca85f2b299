"""The checklist: steps, questions that lead nowhere, conditions, bounds and what "all sound" writes."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches
from fractions import Fraction

import intake.trade  # noqa: F401  (registers the readings)
from intake.book.answers import from_fields, read_answers
from intake.book.checks.tables import tables_of
from intake.book.model import Book, Question
from intake.book.problems import Problem
from intake.trade.named import NAMED
from intake.trade.registry import REGISTRY
from intake.trade.units import MeasureError, read_in

STEPS = (
    "customer", "instrument", "player", "strings-and-room", "neck", "action", "frets", "top-and-bridge",
    "cracks-and-braces", "hardware-and-wiring", "originality-and-photos", "quote",
)  # fmt: skip
FOR_PEOPLE = ("words", "date", "photos")
FOR_THE_TICKET = ("contact_by", "accessories", "year_about", "worth")
NEVER_SOUND = (
    "measure",
    "measures",
    "number",
    "money",
    "fret_depths",
    "part_depths",
    "words",
    "date",
    "photos",
)
MEASURED = ("measure", "number", "money")


def question_problems(book: Book) -> list[Problem]:
    """What a reviewer would ask about checklist.toml."""
    used = _used(book)
    problems = [*_steps(book)]
    for question in book.questions.values():
        problems += [
            Problem("checklist.toml", book.places.get(("checklist.toml", question.id)), key, sentence)
            for key, sentence in _of_question(question, used, book)
        ]
    return problems


def _steps(book: Book) -> Iterator[Problem]:
    found = tuple(step.id for step in book.steps)
    if found != STEPS:
        sentence = f"The twelve steps are {', '.join(STEPS)}, in this order."
        yield Problem("checklist.toml", None, "step", sentence)
    complaints = {choice.id for choice in _values(book, "complaints")}
    for step in book.steps:
        for complaint in step.needed_for:
            if complaint not in complaints:
                row = book.places.get(("checklist.toml", step.id))
                yield Problem("checklist.toml", row, "needed_for", f"“{complaint}” is not a complaint.")


def _values(book: Book, id: str) -> tuple:
    return book.questions[id].values if id in book.questions else ()


def _used(book: Book) -> set[str]:
    """Ids that a table, a reading or another question's condition reads."""
    used = {column.id.split(".")[0] for table in tables_of(book) for column in table.inputs}
    used |= {id for spec in REGISTRY.values() for id in (*spec.inputs, *spec.optional)}
    used |= {id for question in book.questions.values() for id in question.when}
    return used


def _of_question(question: Question, used: set[str], book: Book) -> Iterator[tuple[str, str]]:
    if question.step not in STEPS:
        yield "step", f"“{question.step}” is not a step."
    if not (question.id in used or question.kind in (*FOR_PEOPLE, "pins") or question.id in FOR_THE_TICKET):
        yield "id", f"Nothing uses the answer to “{question.id}”: no table, no reading, no condition."
    yield from _conditions(question, book)
    yield from _sound(question, book)
    yield from _bounds(question)
    yield from _missing_answers(question)


def _missing_answers(question: Question) -> Iterator[tuple[str, str]]:
    """Answers that code knows by name and this question no longer offers."""
    lists = {"": question.values, "kind": question.kinds, "state": question.states}
    for member, choices in lists.items():
        offered = [choice.id for choice in choices]
        for id in NAMED.get(f"{question.id}.{member}" if member else question.id, ()):
            if id not in offered:
                near = get_close_matches(id, set(offered) - NAMED.get(question.id, {}).keys(), 1, 0.4)
                hint = f"; was it renamed to “{near[0]}”?" if near else "."
                key = f"{member}s" if member else "values"
                yield key, f"The program knows the answer “{id}” by name, and it is not offered here{hint}"


def _conditions(question: Question, book: Book) -> Iterator[tuple[str, str]]:
    families = {choice.id for choice in _values(book, "family")}
    for key, words in (("families", question.families), ("not_families", question.not_families)):
        for word in words:
            if word not in families and not any(word in each.groups for each in book.families.values()):
                yield key, f"“{word}” is neither a family nor a group of families."
    for id, values in question.when.items():
        other = book.questions.get(id)
        if other is None:
            yield "when", f"“{id}” is not a question."
            continue
        known = {choice.id for choice in other.values} | ({"yes", "no"} if other.kind == "yes_no" else set())
        for value in values:
            if value not in known:
                yield "when", f"“{value}” is not an answer to {id}."


def _sound(question: Question, book: Book) -> Iterator[tuple[str, str]]:
    if question.sound is None:
        return
    if question.kind in NEVER_SOUND:
        yield "sound", "“All sound” never fills a measure, a count, money or words."
    elif question.id not in read_answers(book, from_fields(book, [(question.id, question.sound)])).values:
        yield "sound", f"“{question.sound}” is not an answer to it."


def _bounds(question: Question) -> Iterator[tuple[str, str]]:
    low, high = question.low, question.high
    if low is not None and high is not None and low >= high:
        yield "low", "The lowest plausible value is not under the highest."
    if question.kind not in MEASURED:
        return
    for choice in question.values:
        value = _number(choice.id, question)
        if value is None or (low is not None and value < low) or (high is not None and value > high):
            yield "values", f"“{choice.id}” is outside what the question accepts."


def _number(text: str, question: Question) -> Fraction | None:
    try:
        return read_in(text, question.typed_in, question.unit)
    except MeasureError:
        return None
