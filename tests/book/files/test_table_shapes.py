"""What keeps a table small enough for a spreadsheet: conditions in a cell, bare words, units, groups."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from contextlib import suppress
from fractions import Fraction
from pathlib import Path

import pytest

from intake.book.files.lists import read_jobs
from intake.book.files.load import load_table
from intake.book.files.sheet import text_from
from intake.book.problems import BookError, Problem
from intake.config import demo_book
from intake.quoting.assess import known_facts
from intake.quoting.quote import multiplier
from tests.memo import sample_book

WriteBook = Callable[..., Path]
Problems = Callable[..., list[Problem]]


@pytest.fixture
def table(tmp_path: Path) -> Callable[[str], Path]:
    def write(text: str) -> Path:
        path = tmp_path / "t.csv"
        path.write_text(text, "utf-8")
        return path

    return write


def test_a_cell_of_conditions_is_as_good_as_a_column_for_each_fact(table: Callable[[str], Path]) -> None:
    read = load_table(
        table(
            'hit policy,collect\njob,when,then factor\nsetup,"rod: one_way, two_way; relief [mm]: >1",2\n'
            "-,,3\n"
        ),
        {"relief": "in"},
    )

    def factors(**facts: object) -> list[Fraction]:
        return [hit.outputs["factor"] for hit in read.evaluate(facts)]

    assert factors(job="setup", rod="two_way", relief=Fraction(5, 100)) == [2, 3]
    assert factors(job="setup", rod="two_way", relief=Fraction(3, 100)) == [3]
    assert factors(job="setup", rod="two_way") == [3]


def test_a_condition_over_the_headings_holds_for_every_row(table: Callable[[str], Path]) -> None:
    read = load_table(
        table("hit policy,first\nwhen,kind: crack\nstate,then finding\nopen,crack_open\n-,crack\n")
    )

    assert [hit.outputs["finding"] for hit in read.evaluate({"kind": "crack", "state": "open"})] == [
        "crack_open"
    ]
    assert read.evaluate({"kind": "seam", "state": "open"}) == []


CONDITIONS = {
    "no colon": ("rod one_way", "write it as"),
    "no fact": (": one_way", "write it as"),
    "no test": ("rod:", "write it as"),
    "an output": ("then rod: one_way", "not a fact"),
    "no such test": ("rod: <", "a number is expected"),
    "twice": ("rod: one_way; rod: two_way", "stands twice"),
}


@pytest.mark.parametrize(("cell", "words"), CONDITIONS.values(), ids=CONDITIONS)
def test_a_faulty_condition_is_named(table: Callable[[str], Path], cell: str, words: str) -> None:
    with pytest.raises(BookError) as refused:
        load_table(table(f'hit policy,collect\nwhen,then job\n"{cell}",setup\n'))

    assert any(words in problem.sentence and problem.row == 3 for problem in refused.value.problems)


def test_heights_stand_in_64ths_and_a_cell_may_bring_its_own_unit(table: Callable[[str], Path]) -> None:
    read = load_table(
        table("hit policy,first\naction [64ths],then wanted [64ths]\n>6.5,6\n-,3.3 mm\n"), {"action": "in"}
    )

    high, low = (read.evaluate({"action": Fraction(n, 128)})[0].outputs["wanted"] for n in (14, 13))

    assert (high, low) == (Fraction(6, 64), Fraction("3.3") * Fraction(5, 127))


def test_a_measure_of_another_kind_is_refused_in_a_cell(table: Callable[[str], Path]) -> None:
    with pytest.raises(BookError, match=r"3\.3 C"):
        load_table(table("hit policy,first\nrod,then wanted [in]\n-,3.3 C\n"))


ORDER = "id,after,needs,needs if found,includes,forecast after\n"


def test_a_group_or_a_stage_stands_for_its_jobs(write_book: WriteBook) -> None:
    jobs = (write_book() / "jobs.csv").read_text("utf-8")
    headings = jobs.splitlines()[0]
    lines = [f"{id},body,{id},1,1,1,,{stage}" for id, stage in (("glue", 1), ("clamp", 1), ("sand", 2))]
    folder = write_book(
        ("jobs.csv", "", "\n".join(["id,group,name,quick,usual,slow,price,stage", *lines, ""])),
        ("order.csv", "", ORDER + "sand,1,,,,\nclamp,body,,,,\n"),
    )
    problems: list[Problem] = []
    places: dict[tuple[str, str], int] = {}

    read = read_jobs(folder / "jobs.csv", folder / "order.csv", problems, places)

    assert headings and not problems
    assert (read["sand"].after, read["clamp"].after) == (("glue", "clamp"), ("glue", "sand"))


def test_an_order_for_a_job_that_is_not_there_is_named(
    problems_with: Problems, write_book: WriteBook
) -> None:
    found = problems_with(("order.csv", "", ORDER + "moonbeam,,,,,\n"))

    assert ("order.csv", 2, "id") in {(p.file, p.row, p.column) for p in found}


def test_how_hard_somebody_plays_is_taken_from_the_style_where_nobody_said() -> None:
    book = sample_book()
    said, styled, unknown = (
        known_facts(book, {"family": "electric", **player})
        for player in ({"attack": "firm"}, {"style": "flatpick"}, {})
    )

    assert said["hand"] == styled["hand"] == "firm"
    assert said["action_bass_high"] == styled["action_bass_high"] == Fraction(6, 64)
    assert (unknown["hand"], unknown["action_bass_high"]) == ("unknown", Fraction("5.5") / 64)


def test_strings_and_tuning_change_the_targets() -> None:
    book = sample_book()
    player = {"family": "electric", "attack": "firm"}
    plain, heavy, lowered = (
        known_facts(book, {**player, **more}) for more in ({}, {"gauge_set": "heavy"}, {"tuning": "lowered"})
    )

    step = Fraction(1, 128)

    assert heavy["action_bass_low"] == plain["action_bass_low"] - step
    assert heavy["action_bass_high"] == plain["action_bass_high"]
    assert lowered["action_bass_high"] == plain["action_bass_high"] + step
    assert lowered["relief_high"] == plain["relief_high"] + Fraction("0.002")


def test_hours_against_the_usual_ones_are_a_factor() -> None:
    assert multiplier({"hours": Fraction("2.2"), "against": Fraction("1.5")}) == Fraction(22, 15)
    assert multiplier({"factor": Fraction("1.3")}) == Fraction(13, 10)


def test_no_cell_of_the_demo_book_is_a_fraction_that_a_spreadsheet_would_take_for_a_date() -> None:
    spoilt = [
        (path.name, cell)
        for path in demo_book().rglob("*.csv")
        for row in csv.reader(path.read_text("utf-8").splitlines())
        for cell in row
        if re.fullmatch(r"-?\d+/\d+|\d+ \d+/\d+", cell.strip())
    ]

    assert spoilt == []


def test_no_number_of_the_demo_book_has_an_exponent_whose_digits_a_spreadsheet_would_drop() -> None:
    """Calc shows 2.2309e-05 as 2.23E-05, and saves what it shows."""
    exponents = [
        (path.name, cell)
        for path in demo_book().rglob("*.csv")
        for row in csv.reader(path.read_text("utf-8").splitlines())
        for cell in row
        if re.fullmatch(r"-?\d*\.?\d+[eE][-+]?\d+", cell.strip())
    ]

    assert exponents == []


@pytest.mark.parametrize("heading", ["a{}b", "then{}", "then a{}b [in", "a{}[", "{}a [fr", "a [{}fr]"])
def test_a_heading_may_hold_any_number_of_blanks(table: Callable[..., Path], heading: str) -> None:
    """A pattern that began at each of them would take minutes here, and days in a file of 20 MB."""
    written = heading.format(" " * 120_000)

    assert text_from({written: "words"}, "a") is None
    with suppress(BookError):
        load_table(table(f'hit policy,collect\n"{written}",then job\n-,setup\n'))
