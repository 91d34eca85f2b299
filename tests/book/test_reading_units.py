"""Readings count in units of their own: a book may ask in any other of the kind, and quotes the same."""

from __future__ import annotations

import shutil
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

import intake.trade.readings  # noqa: F401
from intake.book.answers import read_answers
from intake.book.files.load import load_book
from intake.book.problems import BookError
from intake.quoting.quote import make_quote
from intake.quoting.to_json import quote_json
from intake.quoting.walkin import load_walkin
from intake.trade.registry import REGISTRY, TAKEN_IN
from tests.memo import sample_book

DEMO = Path(__file__).parents[2] / "pricing_demo"
CHECKLIST = "checklist.toml"
OTHERS = {
    "action_bass_12": ("in", "mm"), "relief": ("in", "mm"), "saddle_showing": ("in", "mm"),
    "crown_height": ("in", "thou"), "room_temp": ("F", "C"), "back_radius": ("ft", "in"),
}  # fmt: skip


def changed(folder: Path, file: str, before: str, after: str) -> Path:
    """The demo book with that one change."""
    shutil.copytree(DEMO, folder, dirs_exist_ok=True)
    path = folder / file
    text = path.read_text("utf-8")
    assert before in text
    path.write_text(text.replace(before, after, 1), "utf-8")
    return folder


def asked_in(folder: Path, id: str, unit: str, other: str) -> Path:
    """The demo book with another unit in that question."""
    text = (DEMO / CHECKLIST).read_text("utf-8")
    start = text.index(f'id = "{id}"')
    head = text[start : text.index(f'unit = "{unit}"', start)]
    return changed(folder, CHECKLIST, f'{head}unit = "{unit}"', f'{head}unit = "{other}"')


@pytest.mark.parametrize(("id", "unit", "other"), [(id, *units) for id, units in OTHERS.items()])
def test_a_question_in_another_unit_of_the_kind_quotes_the_same(
    tmp_path: Path, id: str, unit: str, other: str
) -> None:
    """The flat top of $177 that became $1,015, and the 21 °C that dropped the moisture readings."""
    book, as_before = load_book(asked_in(tmp_path, id, unit, other)), sample_book()
    for number in ("02", "03", "06"):
        (path,) = (DEMO / "walkins").glob(f"{number}-*.toml")
        walkin, day = load_walkin(path), date(2026, 11, 24)

        now, then = (quote_json(make_quote(each, walkin, day)) for each in (book, as_before))

        assert (now["offers"], now["readings"]) == (then["offers"], then["readings"])


def test_a_number_without_a_unit_is_in_the_unit_of_the_question(tmp_path: Path) -> None:
    book = load_book(asked_in(tmp_path, "room_temp", "F", "C"))

    read = read_answers(book, {"room_temp": "21", "family": "banjo"})

    assert read.values["room_temp"] == Fraction("69.8")


def test_a_measure_beyond_its_range_is_refused_in_the_unit_of_the_question(tmp_path: Path) -> None:
    book = load_book(asked_in(tmp_path, "action_bass_12", "in", "mm"))

    read = read_answers(book, {"family": "classical", "action_bass_12": "90"})

    assert "90 mm is" in read.problems["action_bass_12"]


def test_a_unit_of_another_kind_is_refused_with_the_way_out(tmp_path: Path) -> None:
    with pytest.raises(BookError) as refused:
        load_book(asked_in(tmp_path, "relief", "in", "C"))

    (problem,) = [p for p in refused.value.problems if p.column == "unit"]
    assert problem.row
    assert "Readings take relief in in; “C” cannot become that: write in, ft" in problem.sentence


def test_a_default_in_another_unit_is_converted(tmp_path: Path) -> None:
    heading = "then saddle_doubt"
    book = load_book(changed(tmp_path, "defaults.csv", f"{heading} [in]", f"{heading} [mm]"))

    (hit,) = book.defaults.evaluate({"family": "classical"})

    assert hit.outputs["saddle_doubt"] == Fraction("0.015625") * Fraction(5, 127)


def test_every_measure_that_a_reading_takes_has_its_unit_here() -> None:
    book = sample_book()
    taken = {name for spec in REGISTRY.values() for name in (*spec.inputs, *spec.optional)} - REGISTRY.keys()
    targets = {output.name for output in book.targets.outputs}

    with_unit = {id for id in taken & book.units.keys() if not id.startswith("default_")} - targets

    assert {id: book.units[id] for id in with_unit} == {id: TAKEN_IN.get(id) for id in with_unit}


def test_a_measure_that_a_reading_takes_in_no_named_unit_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Else 50 in, asked in millimetres, would be taken as 1,270 in without a word."""
    monkeypatch.delitem(TAKEN_IN, "lining_width")

    with pytest.raises(BookError) as refused:
        load_book(DEMO)

    (problem,) = refused.value.problems
    assert problem.file == CHECKLIST and "reading takes lining_width" in problem.sentence
