"""Raw answers, as people and forms write them, to values that tables can test."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from intake.book.answer_kinds import MOST_PINS, READERS
from intake.book.model import Book, Question
from intake.book.scalars import Asked, Refused, truth
from intake.book.yes_no import yes_no_word

LISTED = ("several", "measures", "frets", "string_frets", "photos")
MAPPED = ("fret_depths", "part_states", "part_depths")
MAY_BE_NONE = ("frets", "string_frets", "fret_depths", "pins")
NOTHING = ("none", ["none"], ("none",))
_PIN = re.compile(r"(?P<number>[0-9A-Za-z-]{1,64})\.(?P<field>[a-z_0-9]+)")


@dataclass(frozen=True)
class Answers:
    """`values` by question id, only what was answered and accepted; `problems`: id → sentence."""

    values: Mapping[str, Any]
    problems: Mapping[str, str]


def read_answers(book: Book, raw: Mapping[str, Any]) -> Answers:
    """Every answer as its kind's value (see DEVELOPERS.md). Never raises.

    A refused answer is absent from the values and has a sentence under its id; so has an id that is
    no question. Nothing typed is no answer.
    """
    values: dict[str, Any] = {}
    problems: dict[str, str] = {}
    for id, written in raw.items():
        question = book.questions.get(id) if isinstance(id, str) else None
        if question is None:
            problems[str(id)] = _unknown(book, str(id))
            continue
        if is_blank(written):
            continue
        if question.kind in MAY_BE_NONE and written in NOTHING:
            values[id] = ("none",)
            continue
        try:
            values[id] = READERS[question.kind](Asked(question, raw), written)
        except Refused as refused:
            problems[id] = str(refused)
    return Answers(values, problems)


def is_blank(written: Any) -> bool:
    """Nothing typed: None, spaces, an empty list or table, or one that holds only such."""
    if isinstance(written, str):
        return not written.strip()
    if isinstance(written, Mapping):
        return all(is_blank(item) for item in written.values())
    if isinstance(written, list | tuple):
        return all(is_blank(item) for item in written)
    return written is None


def _unknown(book: Book, id: str) -> str:
    near = get_close_matches(id, book.questions, n=1)
    hint = f" Did you mean {near[0]}?" if near else ""
    return f"“{id[:60]}” is not a question of this book.{hint}"


def is_asked(question: Question, values: Mapping[str, Any]) -> bool:
    """Whether the checklist asks this question, given the values of the others.

    Its families hold the family, and every question that `when` names holds one of its values; a
    question not answered holds none.
    """
    if question.families and values.get("family") not in question.families:
        return False
    return all(_words(values.get(id)) & set(wanted) for id, wanted in question.when.items())


def _words(value: Any) -> set[str]:
    if value is None:
        return set()
    items = value if isinstance(value, list | tuple) else (value,)
    return {yes_no_word(item) for item in items}


def from_fields(book: Book, pairs: Iterable[tuple[str, str]]) -> dict[str, Any]:
    """A form's flat fields as raw answers. Fields that are no question's, and blank ones, are left out.

    "none" beside other answers of the same question stays among them, for `read_answers` to refuse.
    """
    raw: dict[str, Any] = {}
    pins: dict[str, dict[str, dict[str, str]]] = {}
    none: dict[str, Any] = {}
    for name, value in pairs:
        id, _, member = name.partition(".")
        question = book.questions.get(id)
        if question is None or is_blank(value):
            continue
        if question.kind in MAY_BE_NONE and not member and value == "none":
            none[id] = value
        elif question.kind == "pins":
            if match := _PIN.fullmatch(member):
                pins.setdefault(id, {}).setdefault(match["number"], {})[match["field"]] = value
        elif question.kind in MAPPED:
            if member:
                raw.setdefault(id, {})[member] = value
        elif question.kind in LISTED:
            raw.setdefault(id, []).append(value)
        else:
            raw[id] = value
    raw |= {id: [found[name] for name in sorted(found, key=_place)] for id, found in pins.items()}
    for id in none.keys() & raw.keys():
        none[id] = ["none", *raw[id]] if isinstance(raw[id], list) else {"none": "none", **raw[id]}
    return raw | none


def _place(name: str) -> tuple[int, str]:
    """Numbered pins in their order, then those that a phone has named."""
    return (int(name), "") if name.isdecimal() else (MOST_PINS, name)


def to_fields(book: Book, raw: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Raw answers as the flat fields of a form, in the order given; the inverse of `from_fields`."""
    return [pair for id, written in raw.items() for pair in _fields(book.questions.get(id), id, written)]


def _fields(question: Question | None, id: str, written: Any) -> Iterable[tuple[str, str]]:
    if is_blank(written):
        return
    if isinstance(written, Mapping):
        for member, value in written.items():
            yield from _fields(None, f"{id}.{member}", value)
    elif isinstance(written, list | tuple):
        for number, value in enumerate(written, 1):
            yield from _fields(None, f"{id}.{number}" if isinstance(value, Mapping) else id, value)
    elif question is not None and question.kind == "yes_no" and (held := truth(written)) is not None:
        yield id, yes_no_word(held)
    else:
        yield id, yes_no_word(written)
