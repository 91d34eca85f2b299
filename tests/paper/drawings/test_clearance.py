"""The drawing of the tightest string follows the numbers, and stands only where a buzz is spoken of."""

from __future__ import annotations

import re
from datetime import date
from itertools import pairwise
from pathlib import Path

from intake.config import demo_book
from intake.i18n import translations
from intake.i18n.formats import locale_for
from intake.paper.drawings.clearance import clearance_drawing
from intake.paper.formats import Formats
from intake.quoting.quote import make_quote
from intake.quoting.walkin import load_walkin
from intake.trade.readings.clearance import strung_from
from tests.memo import sample_book

BOOK = sample_book()
ENGLISH = Formats(locale_for("en", "en_US"), "en_US", "USD", translations("en"))


def facts_of(name: str) -> dict:
    (path,) = Path(demo_book() / "walkins").glob(f"{name}*.toml")
    return {**make_quote(BOOK, load_walkin(path), date(2026, 11, 25)).assessment.facts, **BOOK.beside}


def test_the_picture_says_what_the_reading_says() -> None:
    facts = facts_of("07")
    over = strung_from(facts).over(facts["buzz_margin_at"])
    margin = min(each.gap - each.reach for each in over)
    assert abs(margin - float(facts["buzz_margin"])) < 0.0001
    drawn = clearance_drawing(facts, ENGLISH)
    assert margin < 0
    assert f"{-margin:.3f} in more than there is" in drawn
    assert drawn.count('class="fret"') == len(over)
    assert "promises nothing" in drawn


def test_the_string_runs_straight_over_falling_fret_tops() -> None:
    facts = facts_of("07")
    drawn = clearance_drawing(facts, ENGLISH)
    (path,) = re.findall(r'd="M([^"]+)"[^>]*class="string"', drawn)
    points = [tuple(map(float, point.split())) for point in path.split(" L")]
    slopes = {round((y2 - y1) / (x2 - x1), 3) for (x1, y1), (x2, y2) in pairwise(points)}
    assert len(slopes) == 1


def test_nothing_is_drawn_without_a_buzz_or_without_the_numbers() -> None:
    assert clearance_drawing(facts_of("02"), ENGLISH) == ""
    facts = facts_of("07")
    del facts["relief"]
    assert clearance_drawing(facts, ENGLISH) == ""
