"""Measures as people write them: every usual way in, and out again."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.trade.units import SCALE, MeasureError, convert, parse_measure, show_measure

F = Fraction
UNITS = sorted(SCALE)
LENGTHS = ["in", "mm", "cm", "ft", "thou"]

WRITTEN = [
    ("5/64", "in", F(5, 64)), ("2 1/2", "in", F(5, 2)), ("2-1/2", "in", F(5, 2)), ("2 + 1/2", "in", F(5, 2)),
    ("0.078", "in", F(78, 1000)), (".010", "in", F(1, 100)), ("4.", "in", F(4)),
    ("0,18 mm", "mm", F(18, 100)),
    ("0,18 mm", "in", F(9, 1270)), ('5/64"', "in", F(5, 64)), ("5/64 in", "in", F(5, 64)),
    ("8/64ths", "in", F(1, 8)), ("8 64ths", "in", F(1, 8)), ("8/64ths of an inch", "in", F(1, 8)),
    ("3/32nds", "in", F(3, 32)), ("6.5/64 in", "in", F(13, 128)), ("2 mm", "in", F(10, 127)),
    ("25.4mm", "in", F(1)), ("15 ft", "ft", F(15)), ("15'", "ft", F(15)), ("15′", "ft", F(15)),
    ("2' 6\"", "in", F(30)), ("-2 ft 6 in", "ft", F(-5, 2)), ("21 C", "C", F(21)), ("70 °F", "F", F(70)),
    ("70F", "F", F(70)), ("70°", "F", F(70)), ("20 °C", "F", F(68)), ("-10 C", "F", F(14)),
    ("45 %", "%", F(45)),
    ("45%", "%", F(45)), ("45", "%", F(45)), ("45 %RH", "%", F(45)), ("-1/32 in", "in", F(-1, 32)),
    ("−1/32 in", "in", F(-1, 32)), ("- 1/32", "in", F(-1, 32)), ("–0.002", "in", F(-2, 1000)),
    ("+5", "cents", F(5)),
    ("½", "in", F(1, 2)), ("2½ in", "in", F(5, 2)), ("-¾", "in", F(-3, 4)), ("5⁄64", "in", F(5, 64)),
    ("10 thou", "in", F(1, 100)), ("8 thousandths", "in", F(8, 1000)), ("10 thou", "mm", F(254, 1000)),
    ("5 64ths", "mm", F(127, 64)),
    ("14 deg", "deg", F(14)), ("14°", "deg", F(14)), ("5 cents", "cents", F(5)), ("23 lbs", "lbf", F(23)),
    ("1 h 30 min", "h", F(3, 2)), ("90 min", "h", F(3, 2)), ("1,5 h", "h", F(3, 2)), ("6", "", F(6)),
    ("  6  ", "", F(6)), ("4800", "", F(4800)), ("2.4\u00a0mm", "mm", F(24, 10)),
]  # fmt: skip
REFUSED = [
    ("", "in"), ("   ", "in"), ("abc", "in"), ("5/0", "in"), ("5/0 in", "in"), ("70 F", "in"), ("5 in", "F"),
    ("1e5", "in"), ("5 6", "in"), ("--5", "in"), ("5 bananas", "in"), ("4,800", ""), ("1/2/3", "in"),
    ("5 in 3 in", "in"), ("2 -1/2", "in"), ("1..2", "in"), ("nan", "in"), ("inf", "in"), ("-", "in"),
    ("٣", "in"),
    ("²", "in"), ("5 in x", "in"), ("unknown", "in"), ("none", "in"), ("9" * 50, "in"), ("2.5 1/2", "in"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "unit", "value"), WRITTEN)
def test_reads_what_people_write(text: str, unit: str, value: Fraction) -> None:
    assert parse_measure(text, unit) == value


@pytest.mark.parametrize(("text", "unit"), REFUSED)
def test_refuses_with_one_sentence_that_names_it(text: str, unit: str) -> None:
    with pytest.raises(MeasureError) as refused:
        parse_measure(text, unit)
    sentence = str(refused.value)
    assert sentence.endswith(".")
    assert "\n" not in sentence
    assert text.strip()[:20] in sentence


@given(st.text(max_size=60), st.sampled_from(UNITS))
def test_any_text_is_a_measure_or_a_sentence(text: str, unit: str) -> None:
    try:
        value = parse_measure(text, unit)
    except MeasureError as refused:
        assert str(refused)
    else:
        assert isinstance(value, Fraction)


TOKENS = st.lists(
    st.sampled_from([*"0123456789./,-+ '\"½°", "64ths", " in", "mm", " ft ", "thou", "C", "F", "%", "h"]),
    max_size=9,
).map("".join)


@given(TOKENS, st.sampled_from(UNITS))
def test_scraps_of_measures_never_crash(text: str, unit: str) -> None:
    try:
        assert isinstance(parse_measure(text, unit), Fraction)
    except MeasureError as refused:
        assert str(refused).endswith(".")


@given(st.integers(-640, 640), st.sampled_from([1, 2, 4, 8, 16, 32, 64]))
def test_a_fraction_of_an_inch_comes_back_as_shown(top: int, bottom: int) -> None:
    value = F(top, bottom)
    for style in ("", "fraction", "32nds"):
        assert parse_measure(show_measure(value, "in", style), "in") == value


@given(st.integers(-200, 200))
def test_half_sixty_fourths_and_thousandths_come_back(number: int) -> None:
    assert parse_measure(show_measure(F(number, 128), "in", "64ths"), "in") == F(number, 128)
    assert parse_measure(show_measure(F(number, 1000), "in", "thou"), "in") == F(number, 1000)


@given(
    st.integers(-100000, 100000), st.sampled_from(["mm", "cm", "ft", "h", "", "F", "C", "%", "deg", "lbf"])
)
def test_decimals_that_a_bench_can_hold_come_back(number: int, unit: str) -> None:
    value = F(number, 10)
    assert parse_measure(show_measure(value, unit), unit) == value


@given(
    st.fractions(-10, 10, max_denominator=10**6),
    st.sampled_from(["", "64ths", "32nds", "fraction", "thou", "mm"]),
)
def test_what_is_shown_is_near_what_it_shows(value: Fraction, style: str) -> None:
    shown = parse_measure(show_measure(value, "in", style), "in")
    assert abs(shown - value) <= F(1, 1000)


@given(st.fractions(-1000, 1000, max_denominator=1000), st.sampled_from(LENGTHS), st.sampled_from(LENGTHS))
def test_conversion_there_and_back_is_exact(value: Fraction, one: str, other: str) -> None:
    assert convert(convert(value, one, other), other, one) == value


@given(st.fractions(-100, 300, max_denominator=100))
def test_temperatures_there_and_back_are_exact(value: Fraction) -> None:
    assert convert(convert(value, "F", "C"), "C", "F") == value


@given(st.integers(1, 400), st.sampled_from(["/64", "/64 in", "/64ths", '/64"', "⁄64 inch"]))
def test_every_way_of_writing_a_sixty_fourth_is_one_value(top: int, tail: str) -> None:
    assert parse_measure(f"{top}{tail}", "in") == F(top, 64)


@given(st.decimals(0, 100, places=3), st.sampled_from(["mm", "in", "ft"]))
def test_comma_and_point_and_minus_read_alike(number: object, unit: str) -> None:
    point = f"{number} {unit}"
    value = parse_measure(point, unit)
    assert parse_measure(point.replace(".", ","), unit) == value
    assert parse_measure(f"−{point}", unit) == parse_measure(f"-{point}", unit) == -value


def test_kinds_do_not_mix() -> None:
    with pytest.raises(MeasureError):
        convert(F(1), "in", "F")


@pytest.mark.parametrize(
    ("value", "unit", "style", "shown"),
    [
        (F(1, 8), "in", "64ths", "8/64 in"), (F(13, 128), "in", "64ths", "6.5/64 in"),
        (F(0), "in", "64ths", "0 in"),
        (F(1, 8), "in", "", "1/8 in"), (F(8, 1000), "in", "", "0.008 in"),
        (F(8, 1000), "in", "thou", "0.008 in"),
        (F(59, 4), "in", "", "14 3/4 in"), (F(-1, 32), "in", "", "-1/32 in"),
        (F(254, 10), "in", "", "25.4 in"),
        (F(12, 127), "in", "mm", "2.4 mm"), (F(24, 10), "mm", "", "2.4 mm"), (F(70), "F", "", "70 °F"),
        (F(14), "deg", "", "14°"), (F(45), "%", "", "45 %"), (F(-1, 10**6), "in", "thou", "0.000 in"),
        (F(6), "", "", "6"),
    ],
)  # fmt: skip
def test_shows_as_people_write(value: Fraction, unit: str, style: str, shown: str) -> None:
    assert show_measure(value, unit, style) == shown
