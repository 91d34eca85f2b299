"""Slips that would change a quote, each named by its sentence, file, row and column before it does."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from intake.book.checks.leaps import leap_problems
from intake.book.files.load import load_book
from intake.book.problems import Problem

DemoWith = Callable[..., list[Problem]]
DEMO = Path(__file__).parents[3] / "pricing_demo"
TARGETS, PARTS, JOBS, CHECKLIST = "targets.csv", "parts.csv", "jobs.csv", "checklist.toml"


def row_of(file: str, start: str) -> int:
    lines = (DEMO / file).read_text("utf-8").splitlines()
    return next(number for number, line in enumerate(lines, 1) if line.startswith(start))


def line_of(file: str, start: str) -> str:
    return (DEMO / file).read_text("utf-8").splitlines()[row_of(file, start) - 1]


def swapped(file: str, start: str, old: str, new: str) -> tuple[str, str, str]:
    line = line_of(file, start)
    assert old in line
    return file, line, line.replace(old, new, 1)


DOUBTS = {
    "a heading turned from in to mm over the same numbers": (
        (TARGETS, "then nut_bass_low [in]", "then nut_bass_low [mm]"),
        TARGETS,
        row_of(TARGETS, "steel-string,12,-,light"),
        "then nut_bass_low [mm]",
        "This is 0.02 mm; 0.2 mm to 3.3 mm is usual for steel-string. Is the unit in the heading right?",
    ),
    "millimetres in an inch column": (
        swapped(TARGETS, "classical,-,-,-", "0.034", "0.86"),
        TARGETS,
        row_of(TARGETS, "classical,-,-,-"),
        "then nut_bass_high [in]",
        "This is 21.84 mm; 0.3 mm to 1.27 mm is usual for classical.",
    ),
    "an action over a quarter of an inch": (
        swapped(TARGETS, "banjo,-,-,-", "7.5", "75"),
        TARGETS,
        row_of(TARGETS, "banjo,-,-,-"),
        "then action_bass_high [64ths]",
        "This is 29.77 mm; 1.52 mm to 5.08 mm is usual for banjo.",
    ),
    "an action that only another family wants": (
        swapped(TARGETS, "mandolin,-,-,-", ",5.5,", ",9.5,"),
        TARGETS,
        row_of(TARGETS, "mandolin,-,-,-"),
        "then action_bass_high [64ths]",
        "This is 3.77 mm; 0.89 mm to 3.05 mm is usual for mandolin.",
    ),
    "a scale length in centimetres": (
        swapped("defaults.csv", "mandolin,", "13.875", "35.2"),
        "defaults.csv",
        row_of("defaults.csv", "mandolin,"),
        "then default_scale_length [in]",
        "This is 894.08 mm; 304.8 mm to 406.4 mm is usual for mandolin.",
    ),
    "a part below its cost": (
        swapped(PARTS, "strings-steel,", ",13.00,", ",1.30,"),
        PARTS,
        row_of(PARTS, "strings-steel,"),
        "price",
        "1.30 is less than the 7.00 that it costs.",
    ),
    "a part without its point": (
        swapped(PARTS, "strings-steel,", ",13.00,", ",1300,"),
        PARTS,
        row_of(PARTS, "strings-steel,"),
        "price",
        "1300 is 186 times its cost; is a decimal point missing?",
    ),
    "a flat price without its point": (
        swapped(JOBS, "restring,", ",0.25,0.35,0.60,,", ",0.25,0.35,0.60,1434,"),
        JOBS,
        row_of(JOBS, "restring,"),
        "price",
        "1434 is 57 times what the usual hours cost (25.20); is a decimal point missing?",
    ),
    "minutes for hours": (
        swapped(JOBS, "restring,", ",0.25,0.35,0.60,", ",15,20,36,"),
        JOBS,
        row_of(JOBS, "restring,"),
        "quick",
        "15 hours is more than a working day of 8, even when it goes quickly; are these minutes?",
    ),
}


@pytest.mark.parametrize(("change", "file", "row", "column", "sentence"), DOUBTS.values(), ids=DOUBTS)
def test_a_figure_that_hardly_can_be_is_doubted(
    demo_with: DemoWith, change: tuple[str, str, str], file: str, row: int, column: str, sentence: str
) -> None:
    found = demo_with(change)

    doubts = {(p.file, p.row, p.column) for p in found if p.doubt and sentence in p.sentence}

    assert (file, row, column) in doubts, [str(problem) for problem in found]


def test_an_answer_that_the_program_knows_by_name_is_missed(demo_with: DemoWith) -> None:
    """A quote of $41 became $177 when this answer was renamed, and nothing was said."""
    found = demo_with((CHECKLIST, '{id = "slack"', '{id = "slacked"'))

    (problem,) = [p for p in found if p.column == "values" and "by name" in p.sentence]

    assert problem.row == row_of(CHECKLIST, 'id = "strings_state"')
    assert "“slack”" in problem.sentence and "was it renamed to “slacked”?" in problem.sentence


def test_a_kind_of_damage_that_the_program_counts_is_missed(demo_with: DemoWith) -> None:
    found = demo_with((CHECKLIST, '{id = "brace", label', '{id = "bar", label'))

    assert any(p.column == "kinds" and "“brace”" in p.sentence for p in found)


def test_a_column_of_dashes_is_named(demo_with: DemoWith) -> None:
    table = "hit policy,collect\nrod,rod_state,then finding,then severity,then says,then says [fr]\n"
    found = demo_with(("tables/zz.csv", "", table + "none,-,zz,watch,X.,X.\n"))

    (problem,) = found

    assert (problem.file, problem.column) == ("tables/zz.csv", "rod_state")
    assert "No row tests this column" in problem.sentence


def test_a_missing_language_is_one_line_a_file(demo_with: DemoWith) -> None:
    found = demo_with(("shop.toml", '["en", "fr"]', '["en", "fr", "de"]'))

    files = [p.file for p in found]

    assert len(files) == len(set(files)) and {"jobs.csv", "checklist.toml", "shop.toml"} < set(files)
    (jobs,) = [p for p in found if p.file == "jobs.csv"]
    assert jobs.column == "name [de]" and "more of this file" in jobs.sentence


LEAPS = {
    "a price": (
        swapped(PARTS, "strings-steel,", ",13.00,", ",69.00,"),
        PARTS,
        "price",
        "This was 13 and is 69",
    ),
    "hours": (swapped(JOBS, "setup,", ",1.50,", ",9.00,"), JOBS, "usual", "This was 1.5 and is 9"),
    "the rate": (
        ("shop.toml", 'labour_rate = "72"', 'labour_rate = "7.20"'),
        "shop.toml",
        "labour_rate",
        "72",
    ),
    "a target": (
        swapped(TARGETS, "banjo,-,-,-", ",0.005,0.01,", ",0.005,0.1,"),
        TARGETS,
        "then relief_high",
        "This was 0.01 and is 0.1",
    ),
}


@pytest.mark.parametrize(("change", "file", "column", "words"), LEAPS.values(), ids=LEAPS)
def test_a_change_of_more_than_five_times_is_doubted(
    tmp_path: Path, change: tuple[str, str, str], file: str, column: str, words: str
) -> None:
    folder = tmp_path / "book"
    shutil.copytree(DEMO, folder)
    name, old, new = change
    text = (folder / name).read_text("utf-8")
    assert old in text
    (folder / name).write_text(text.replace(old, new, 1), "utf-8")

    found = leap_problems(load_book(DEMO), load_book(folder))

    assert [(p.file, p.column) for p in found] == [(file, column)]
    assert words in found[0].sentence and found[0].doubt


def test_a_book_does_not_leap_from_itself() -> None:
    assert leap_problems(load_book(DEMO), load_book(DEMO)) == []
