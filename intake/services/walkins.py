"""From what stands in a ticket's parts to the walk-in that is quoted."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Mapping
from typing import Any

from intake.book.answers import from_fields, is_asked, read_answers
from intake.book.model import Book
from intake.book.parts import PASSED, question_of, to_raw
from intake.quoting.model import Walkin
from intake.store.edits import Standing

ASSUMED = ("usual", "earlier")


def walkin_from(book: Book, standing: Iterable[Standing]) -> Walkin:
    """Everything that stands, with what the steps passed as "all sound" add to it.

    A part in an open clash counts as not measured. A step passed as not assessed leaves missing what no hand
    gave; what a hand gave there counts.
    """
    parts = {held.part: held for held in standing}
    passed = {
        part.removeprefix(PASSED): held.value for part, held in parts.items() if part.startswith(PASSED)
    }
    skipped = frozenset(step.id for step in book.steps if passed.get(step.id) == "not_assessed")
    given = {
        part: held for part, held in parts.items() if held.by == "hand" or _step(book, part) not in skipped
    }
    raw = to_raw(book, {part: held.value for part, held in given.items()})
    by_eye = {question_of(part) for part, held in given.items() if held.by == "sound" and held.value}
    for step in book.steps:
        if passed.get(step.id) == "all_sound":
            raw, judged = all_sound(book, raw, step.id, {question_of(part) for part in parts})
            by_eye |= judged
    assumed = {question_of(part) for part, held in given.items() if held.by in ASSUMED and held.value}
    return Walkin(
        answers=raw,
        not_assessed=skipped,
        by_eye=frozenset(by_eye & raw.keys()),
        assumed=frozenset(assumed & raw.keys()),
    )


def _step(book: Book, part: str) -> str:
    question = book.questions.get(question_of(part))
    return question.step if question else ""


def as_json(walkin: Walkin) -> str:
    """The walk-in as text: the same walk-in always gives the same."""
    content = {
        "answers": walkin.answers,
        "not_assessed": sorted(walkin.not_assessed),
        "by_eye": sorted(walkin.by_eye),
        "title": walkin.title,
    }
    if walkin.assumed:
        content["assumed"] = sorted(walkin.assumed)
    return json.dumps(content, ensure_ascii=False, sort_keys=True)


def from_json(text: str) -> Walkin:
    """The walk-in that `as_json` wrote."""
    content = json.loads(text)
    return Walkin(
        answers=content["answers"],
        not_assessed=frozenset(content["not_assessed"]),
        by_eye=frozenset(content["by_eye"]),
        title=content["title"],
        assumed=frozenset(content.get("assumed", ())),
    )


def all_sound(
    book: Book, raw: Mapping[str, Any], step: str, touched: Collection[str]
) -> tuple[dict[str, Any], frozenset[str]]:
    """The answers with the step's questions of state filled in, and the ids judged by eye.

    Filled are the questions that have a sound answer, are asked of this instrument and that nobody has
    `touched`. One that holds its sound answer already counts as judged by eye too: a phone may have
    filled it before it sent the step.
    """
    filled = dict(raw)
    known = read_answers(book, raw).values
    judged = set()
    for question in book.questions.values():
        if question.step != step or question.sound is None or not is_asked(question, known):
            continue
        sound = from_fields(book, [(question.id, question.sound)])[question.id]
        if question.id not in touched:
            filled.setdefault(question.id, sound)
        if filled.get(question.id) == sound:
            judged.add(question.id)
    return filled, frozenset(judged)
