"""Readings count in units of their own: a book that asks in others is refused, with the way out."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

import intake.trade.readings  # noqa: F401
from intake.book.files.load import load_book
from intake.book.problems import BookError
from intake.trade.registry import REGISTRY, TAKEN_IN

DEMO = Path(__file__).parents[2] / "pricing_demo"


def refusal(folder: Path, file: str, before: str, after: str) -> list[str]:
    """What the loader says of the demo book with that one change."""
    shutil.copytree(DEMO, folder, dirs_exist_ok=True)
    path = folder / file
    text = path.read_text("utf-8")
    assert before in text
    path.write_text(text.replace(before, after, 1), "utf-8")
    with pytest.raises(BookError) as refused:
        load_book(folder)
    return [str(problem) for problem in refused.value.problems]


def question(id: str, unit: str) -> tuple[str, str, str]:
    """The checklist's text of a question from its id to its unit, cut where the unit stands."""
    text = (DEMO / "checklist.toml").read_text("utf-8")
    start = text.index(f'id = "{id}"')
    return "checklist.toml", text[start : text.index(f'unit = "{unit}"', start)], f'unit = "{unit}"'


@pytest.mark.parametrize(("id", "unit", "other"), [
    ("action_bass_12", "in", "mm"), ("relief", "in", "mm"), ("saddle_showing", "in", "mm"),
    ("crown_height", "in", "thou"), ("room_temp", "F", "C"), ("back_radius", "ft", "in"),
])  # fmt: skip
def test_a_unit_that_the_readings_do_not_take_is_refused(
    tmp_path: Path, id: str, unit: str, other: str
) -> None:
    file, head, written = question(id, unit)

    said = refusal(tmp_path, file, head + written, f'{head}unit = "{other}"')

    assert any(f"Readings take {id} [{unit}], not [{other}]; write {unit}." in line for line in said)


def test_so_is_a_default_that_stands_for_no_question(tmp_path: Path) -> None:
    said = refusal(tmp_path, "defaults.csv", "then saddle_doubt [in]", "then saddle_doubt [mm]")

    assert any("Readings take saddle_doubt [in], not [mm]" in line for line in said)


def test_every_measure_that_a_reading_takes_has_its_unit_here() -> None:
    book = load_book(DEMO)
    taken = {name for spec in REGISTRY.values() for name in (*spec.inputs, *spec.optional)} - REGISTRY.keys()
    targets = {output.name for output in book.targets.outputs}

    with_unit = {id for id in taken & book.units.keys() if not id.startswith("default_")} - targets

    assert {id: book.units[id] for id in with_unit} == {id: TAKEN_IN.get(id) for id in with_unit}
