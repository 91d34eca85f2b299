"""The trade's own figures stand in defaults.csv: a shop that reckons otherwise changes a cell."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from intake.book.files.load import load_book
from intake.config import demo_book
from intake.quoting.assess import assess
from intake.quoting.effort import TOGETHER, hours_together
from intake.quoting.model import Assessment, Walkin
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

Figures = Callable[..., Assessment]


@pytest.fixture
def assessed(tmp_path: Path) -> Figures:
    """A sample walk-in, assessed by the demo book with other figures in every family's row."""

    def make(number: str, **figures: str) -> Assessment:
        folder = tmp_path / "book"
        shutil.copytree(demo_book(), folder, dirs_exist_ok=True)
        path = folder / "defaults.csv"
        lines = path.read_text("utf-8").splitlines()
        headings = lines[1].split(",")
        for name, value in figures.items():
            at = next(n for n, heading in enumerate(headings) if heading.startswith(f"then {name}"))
            for row in range(2, len(lines)):
                cells = lines[row].split(",")
                lines[row] = ",".join([*cells[:at], value, *cells[at + 1 :]])
        path.write_text("\n".join(lines) + "\n", "utf-8")
        (walkin,) = (demo_book() / "walkins").glob(f"{number}-*.toml")
        return assess(load_book(folder), load_walkin(walkin))

    return make


def reading(assessment: Assessment, id: str) -> Any:
    return assessment.readings[id].value


CASES = [
    ("163-mandolin", "frets_worn", "worn_from", "0.005"),
    ("163-mandolin", "spot_level_serves", "spot_frets", "9"),
    ("03", "straightedge_margin", "straightedge_allowance", "0.1"),
    ("04", "rod_action_change", "relief_share", "1.0"),
    ("06", "moisture_class", "dry_under", "20"),
    ("06", "days_to_condition", "rh_a_day", "1"),
    ("06", "days_to_condition", "days_from_very_dry", "90"),
    ("38-over", "days_to_condition", "days_from_very_dry", "90"),
    ("77-own", "action_over", "wish_room", "0.2"),
    ("82-electric", "buzz_margin", "slack_swing_most", "1.0"),
    ("30-baritone", "tension_total", "lowered_by", "4"),
]


@pytest.mark.parametrize(("number", "id", "figure", "value"), CASES)
def test_a_figure_of_the_book_counts(
    assessed: Figures, number: str, id: str, figure: str, value: str
) -> None:
    more = {"very_dry_under": "10"} if figure == "dry_under" else {}

    assert reading(assessed(number, **{figure: value}, **more), id) != reading(assessed(number), id)


def test_a_wider_swing_leaves_less_margin(assessed: Figures) -> None:
    calm, wild = (
        reading(assessed("163-mandolin", swing_medium=swing), "buzz_margin") for swing in ("0.030", "0.090")
    )

    assert wild < calm


def test_how_far_jobs_go_slowly_together_is_the_books(assessed: Figures) -> None:
    assert hours_together(assessed("03", hours_together="0.25").facts) == Fraction(1, 4)
    assert hours_together({}) == TOGETHER


def test_a_book_without_the_figures_quotes_as_ever() -> None:
    assert assess(sample_book(), Walkin({"family": "banjo"})).problems == {}
