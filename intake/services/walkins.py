"""From the entries of a ticket's steps to the walk-in that is quoted."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

from intake.book.answers import from_fields, is_asked, read_answers
from intake.book.model import Book
from intake.quoting.model import Walkin
from intake.store.steps import Entry


def walkin_from(book: Book, entries: Iterable[Entry]) -> Walkin:
    """Everything typed so far, with what the steps passed as "all sound" add to it."""
    entries = list(entries)
    typed = [pair for entry in entries for pair in entry.fields]
    raw = dict(from_fields(book, typed))
    by_eye: set[str] = set()
    for entry in entries:
        if entry.passed == "all_sound":
            raw, judged = all_sound(book, raw, entry.step)
            by_eye |= judged
    skipped = frozenset(entry.step for entry in entries if entry.passed == "not_assessed")
    return Walkin(answers=raw, not_assessed=skipped, by_eye=frozenset(by_eye))


def as_json(walkin: Walkin) -> str:
    """The walk-in as text: the same walk-in always gives the same."""
    content = {
        "answers": walkin.answers,
        "not_assessed": sorted(walkin.not_assessed),
        "by_eye": sorted(walkin.by_eye),
        "title": walkin.title,
    }
    return json.dumps(content, ensure_ascii=False, sort_keys=True)


def from_json(text: str) -> Walkin:
    """The walk-in that `as_json` wrote."""
    content = json.loads(text)
    return Walkin(
        answers=content["answers"],
        not_assessed=frozenset(content["not_assessed"]),
        by_eye=frozenset(content["by_eye"]),
        title=content["title"],
    )


def all_sound(book: Book, raw: Mapping[str, Any], step: str) -> tuple[dict[str, Any], frozenset[str]]:
    """The answers with the step's questions of state filled in, and the ids judged by eye.

    Filled are the questions that have a sound answer, are asked of this instrument and stand
    open. One that holds its sound answer already counts as judged by eye too: a phone may have
    filled it before it sent the step.
    """
    filled = dict(raw)
    known = read_answers(book, raw).values
    judged = set()
    for question in book.questions.values():
        if question.step != step or question.sound is None or not is_asked(question, known):
            continue
        sound = from_fields(book, [(question.id, question.sound)])[question.id]
        if filled.setdefault(question.id, sound) == sound:
            judged.add(question.id)
    return filled, frozenset(judged)
