"""A wanted height is never narrower than a ruler reads: a whole 64th of an inch."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from intake.book.problems import Problem

DemoWith = Callable[..., list[Problem]]
DEMO = Path(__file__).parents[3] / "pricing_demo"
TARGETS, CHANGES = "targets.csv", "target_changes.csv"
ELECTRIC = "electric,-,-,-,4,5,3,4,"
LOWERED = '-,-,-,"lowered, open",-,0.5,0.5,'


def rows_starting(file: str, start: str) -> list[int]:
    lines = (DEMO / file).read_text("utf-8").splitlines()
    return [number for number, line in enumerate(lines, 1) if start in line]


@pytest.mark.parametrize(
    ("cells", "column", "sentence"),
    [
        ("electric,-,-,-,4.25,5,3,4,", "then action_bass_low [64ths]", "The range is 0.75/64 in wide"),
        ("electric,-,-,-,4,5,3,3.99,", "then action_treble_low [64ths]", "The range is 0.99/64 in wide"),
        ("electric,-,-,-,5,4,3,4,", "then action_bass_low [64ths]", "upside down"),
    ],
)
def test_a_range_that_no_ruler_can_tell_is_named(
    demo_with: DemoWith, cells: str, column: str, sentence: str
) -> None:
    found = demo_with((TARGETS, ELECTRIC, cells))

    (problem,) = [p for p in found if p.file == TARGETS]
    assert (problem.column, problem.doubt) == (column, False)
    assert sentence in problem.sentence
    assert [problem.row] == rows_starting(TARGETS, ELECTRIC)


def test_a_range_of_a_whole_64th_is_wide_enough(demo_with: DemoWith) -> None:
    assert demo_with((TARGETS, ELECTRIC, "electric,-,-,-,4.25,5.25,3,4,")) == []


def test_what_a_ruler_does_not_read_may_be_narrower(demo_with: DemoWith) -> None:
    relief = ELECTRIC + "0.004,0.008"

    assert demo_with((TARGETS, relief, ELECTRIC + "0.0075,0.008")) == []


def test_a_change_that_narrows_a_range_it_meets_is_named(demo_with: DemoWith) -> None:
    """Lowered tunings bring both ends up; only the low end would leave half a 64th of an electric's range."""
    found = demo_with((CHANGES, LOWERED, '-,-,-,"lowered, open",-,0.5,,'))

    (problem,) = found
    assert (problem.file, problem.column) == (CHANGES, "then action_bass_low [64ths]")
    assert "This leaves a range 0.5/64 in wide" in problem.sentence
    assert problem.row == rows_starting(CHANGES, LOWERED)[0]


@pytest.mark.parametrize(("added", "named"), [("0.75", False), ("1.25", True)])
def test_a_change_is_held_only_to_the_ranges_it_can_meet(
    demo_with: DemoWith, added: str, named: bool
) -> None:
    """A player that nobody asked about has ranges of 1.76/64 and more; those of a hand are narrower."""
    found = demo_with((CHANGES, "-,-,-,unknown,-,-,,", f'-,-,"not(slide)",unknown,-,-,{added},'))

    assert bool(found) is named
