"""checklist.toml: the steps and their questions."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar, get_args

from intake.book.files.sheet import text_from
from intake.book.files.toml import Fields, id_lines, open_toml
from intake.book.model import Choice, Kind, Question, Step
from intake.book.problems import Problem
from intake.book.text import Text
from intake.book.yes_no import yes_no_word
from intake.trade.registry import TAKEN_IN, inputs
from intake.trade.units import SCALE, MeasureError, read_in

KINDS: tuple[str, ...] = get_args(Kind)
MEASURED = ("measure", "measures", "fret_depths", "part_depths")
ID = re.compile("[a-z][a-z0-9_-]{0,59}")
TAKEN = frozenset({"key", "base", "shown", "passed", "based_on", "edits", "version", "epoch", "go", "choose"})
"""Fields that the wizard's own form has."""
T = TypeVar("T")
Places = dict[tuple[str, str], int]


def read_checklist(
    path: Path, problems: list[Problem], places: Places
) -> tuple[tuple[Step, ...], dict[str, Question]]:
    """Steps in order and questions by id, as far as they can be read."""
    table = open_toml(path, problems)
    if table is None:
        return (), {}
    lines = id_lines(path)

    def entries(kind: str, read: Callable[[Fields], T]) -> dict[str, T]:
        found: dict[str, T] = {}
        for entry in table.get(kind, ()):
            id = str(entry.get("id", ""))
            fields = Fields(entry, path.name, lines.get(id), problems)
            if not id or id in found:
                fields.wrong("id", f"The id “{id}” stands twice." if id else f"A {kind} has no id.")
                continue
            if not ID.fullmatch(id) or id in TAKEN:
                fields.wrong(
                    "id", f"“{id[:60]}” cannot be an id: small letters and digits, and no form's own."
                )
                continue
            places[path.name, id] = lines.get(id, 0)
            found[id] = read(fields)
            fields.unknown()
        return found

    steps, questions = entries("step", _step), entries("question", _question)
    for key in table.keys() - {"step", "question"}:
        problems.append(
            Problem(
                path.name,
                None,
                key,
                f"“{key}” is not known here; steps are [[step]], questions [[question]].",
            )
        )
    return tuple(steps.values()), questions


def _step(fields: Fields) -> Step:
    return Step(
        id=fields.string("id"),
        name=fields.text("name", needed=True),
        heading=fields.text("heading", needed=True),
        needed_for=fields.strings("needed_for"),
        always=fields.truth("always"),
    )


def _question(fields: Fields) -> Question:
    kind = fields.string("kind", needed=True)
    if kind and kind not in KINDS:
        fields.wrong("kind", f"“{kind}” is not one of {', '.join(KINDS)}.")
    typed_in = fields.string("unit")
    if kind in MEASURED and typed_in not in SCALE:
        fields.wrong("unit", f"“{typed_in}” is not a unit known here.")
    unit = _taken_in(fields, typed_in)
    return Question(
        id=fields.string("id"),
        step=fields.string("step", needed=True),
        kind=kind,  # type: ignore[arg-type]
        label=fields.text("label", needed=True),
        how=fields.text("how"),
        unit=unit,
        values=_choices(fields, "values", (kind in MEASURED and typed_in) or None),
        families=fields.strings("families"),
        not_families=fields.strings("not_families"),
        when=_when(fields),
        low=_bound(fields, "low", typed_in, unit),
        high=_bound(fields, "high", typed_in, unit),
        sound=_sound(fields),
        required=fields.truth("required"),
        optional=fields.truth("optional"),
        parts=_choices(fields, "parts"),
        kinds=_choices(fields, "kinds"),
        states=_choices(fields, "states"),
        asked_in=typed_in if typed_in != unit else "",
    )


def _taken_in(fields: Fields, typed_in: str) -> str:
    """The unit that readings take this answer in, into which what is typed is converted."""
    id = fields.string("id")
    unit = TAKEN_IN.get(id, typed_in)
    if typed_in and typed_in in SCALE and id not in TAKEN_IN and id in inputs():
        fields.wrong("unit", f"A reading takes {id}, and TAKEN_IN of intake/trade/registry.py names no unit.")
    if typed_in in SCALE and SCALE[unit][0] != SCALE[typed_in][0]:
        known = ", ".join(other for other, (kind, _) in SCALE.items() if kind == SCALE[unit][0])
        fields.wrong("unit", f"Readings take {id} in {unit}; “{typed_in}” cannot become that: write {known}.")
        return typed_in
    return unit if typed_in in SCALE else typed_in


def _choices(fields: Fields, key: str, unit: str | None = None) -> tuple[Choice, ...]:
    """`{id, label}` entries, or plain words; for a measure, each as people write it in `unit`."""
    found: list[Choice] = []
    for entry in fields.value(key, ()):
        choice = _choice(entry)
        if choice is None:
            fields.wrong(key, f"“{entry}” is not a choice; write {{id = …, label = …}}.")
        elif unit and _measure(choice.id, unit, unit) is None:
            fields.wrong(key, f"“{choice.id}” cannot be read as a measure in {unit}.")
        elif any(choice.id == other.id for other in found):
            fields.wrong(key, f"“{choice.id}” stands twice.")
        else:
            found.append(choice)
    return tuple(found)


def _choice(entry: Any) -> Choice | None:
    if isinstance(entry, Mapping):
        label = text_from(dict(entry), "label")
        return Choice(str(entry["id"]), label) if "id" in entry and label else None
    return Choice(str(entry), Text(en=str(entry)))


def _when(fields: Fields) -> dict[str, tuple[str, ...]]:
    table = fields.value("when", {})
    if not isinstance(table, Mapping):
        fields.wrong("when", 'when is a table such as {rod = ["one_way"]}.')
        return {}
    return {
        id: tuple(yes_no_word(value) for value in (values if isinstance(values, list) else [values]))
        for id, values in table.items()
    }


def _bound(fields: Fields, key: str, typed_in: str, unit: str) -> Fraction | None:
    value = fields.value(key)
    if value is None:
        return None
    known = typed_in in SCALE and SCALE[typed_in][0] == SCALE.get(unit, ("",))[0]
    number = _measure(str(value), typed_in if known else "", unit if known else "")
    if number is None:
        fields.wrong(key, f"“{value}” cannot be read as a measure.")
    return number


def _measure(text: str, typed_in: str, unit: str) -> Fraction | None:
    try:
        return read_in(text, typed_in, unit)
    except (MeasureError, KeyError):
        return None


def _sound(fields: Fields) -> str | None:
    value = fields.value("sound")
    return None if value is None else yes_no_word(value)
