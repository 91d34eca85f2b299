"""What is counted on the drawing and along the board."""

from __future__ import annotations

from fractions import Fraction

import intake.trade.readings  # noqa: F401
from intake.trade.registry import compute_readings


def value(id: str, **facts):
    reading = compute_readings(facts).get(id)
    return reading and reading.value


def test_loose_braces_add_up_over_all_places():
    loose = {"kind": "brace", "state": "loose", "count": 2}
    others = (
        {"kind": "brace", "state": "missing", "count": 1},
        {"kind": "crack", "state": "loose", "count": 4},
    )
    assert value("loose_braces", pins=(loose, *others, {**loose, "count": 1})) == 3


def test_a_brace_whose_state_nobody_gave_is_not_counted_as_loose():
    assert value("loose_braces", pins=({"kind": "brace", "count": 1},)) == 0


def test_none_is_a_count_of_zero_and_no_answer_is_no_count():
    assert value("loose_braces", pins=("none",)) == 0
    assert value("loose_fret_count", loose_frets=("none",)) == 0
    assert value("loose_braces") is None
    assert value("loose_fret_count") is None


def test_loose_frets_are_counted():
    assert value("loose_fret_count", loose_frets=(3, 5, 12)) == 3


def test_strings_nobody_counted_are_those_the_family_usually_has():
    assert value("strings_counted", string_count=Fraction(12), default_string_count=Fraction(6)) == 12
    assert value("strings_counted", default_string_count=Fraction(6)) == 6
    assert value("strings_counted") is None
