"""checklist.toml: the steps and their questions."""

from __future__ import annotations

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
from intake.trade.units import SCALE, MeasureError, parse_measure

KINDS: tuple[str, ...] = get_args(Kind)
MEASURED = ("measure", "measures", "fret_depths")
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
    unit = fields.string("unit")
    if kind in MEASURED and unit not in SCALE:
        fields.wrong("unit", f"“{unit}” is not a unit known here.")
    return Question(
        id=fields.string("id"),
        step=fields.string("step", needed=True),
        kind=kind,  # type: ignore[arg-type]
        label=fields.text("label", needed=True),
        how=fields.text("how"),
        unit=unit,
        values=_choices(fields, "values", (kind in MEASURED and unit) or None),
        families=fields.strings("families"),
        when=_when(fields),
        low=_bound(fields, "low", unit),
        high=_bound(fields, "high", unit),
        sound=_sound(fields),
        required=fields.truth("required"),
        optional=fields.truth("optional"),
        parts=_choices(fields, "parts"),
        kinds=_choices(fields, "kinds"),
        states=_choices(fields, "states"),
    )


def _choices(fields: Fields, key: str, unit: str | None = None) -> tuple[Choice, ...]:
    """`{id, label}` entries, or plain words; for a measure, each as people write it in `unit`."""
    found: list[Choice] = []
    for entry in fields.value(key, ()):
        choice = _choice(entry)
        if choice is None:
            fields.wrong(key, f"“{entry}” is not a choice; write {{id = …, label = …}}.")
        elif unit and _measure(choice.id, unit) is None:
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


def _bound(fields: Fields, key: str, unit: str) -> Fraction | None:
    value = fields.value(key)
    if value is None:
        return None
    number = _measure(str(value), unit if unit in SCALE else "")
    if number is None:
        fields.wrong(key, f"“{value}” cannot be read as a measure.")
    return number


def _measure(text: str, unit: str) -> Fraction | None:
    try:
        return parse_measure(text, unit)
    except (MeasureError, KeyError):
        return None


def _sound(fields: Fields) -> str | None:
    value = fields.value("sound")
    return None if value is None else yes_no_word(value)
