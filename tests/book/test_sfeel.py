"""Unary tests of S-FEEL (OMG Decision Model and Notation): what a cell says, exactly."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.book.sfeel import SFeelError, parse_tests

HOLDS = [
    ("-", Fraction(3), True),
    ("<=5/64", Fraction(5, 64), True),
    ("<5/64", Fraction(5, 64), False),
    ("0.078125", Fraction(5, 64), True),
    ("<0.030", Fraction("0.0299999999999999999"), True),
    ("<0.030", Fraction("0.030"), False),
    ("[0.030..0.040)", Fraction("0.030"), True),
    ("[0.030..0.040)", Fraction("0.040"), False),
    ("(0.030..0.040]", Fraction("0.030"), False),
    ("]0.030..0.040[", Fraction("0.040"), False),
    ("2 1/2", Fraction(5, 2), True),
    ("<-1/32", Fraction(-1, 16), True),
    ("<1,>3", Fraction(2), False),
    ("<1,>3", Fraction(4), True),
    ("not(<1,>3)", Fraction(2), True),
    ('"acoustic","archtop"', "archtop", True),
    ('not("none")', "none", False),
    ('not("none")', "two_way", True),
    ("true", True, True),
    ("true", False, False),
    ('"buzz"', ("rattle", "buzz"), True),
    ('not("buzz")', ("rattle", "buzz"), False),
    ('not("buzz")', ("rattle",), True),
    (">0.010", (Fraction("0.002"), Fraction("0.012")), True),
]


@pytest.mark.parametrize(("cell", "value", "expected"), HOLDS)
def test_a_cell_holds(cell: str, value: object, expected: bool) -> None:
    assert parse_tests(cell).holds(value) is expected


@pytest.mark.parametrize(
    "cell", ["", "<", "high", "<high", "[1..", "1..2", '"open', "1/0", "not(", "-,1", "= 3"]
)
def test_what_is_no_test_is_refused_and_named(cell: str) -> None:
    with pytest.raises(SFeelError) as refused:
        parse_tests(cell)
    assert str(refused.value)


@given(st.fractions(), st.fractions(), st.fractions())
def test_an_interval_is_what_arithmetic_says(a: Fraction, b: Fraction, value: Fraction) -> None:
    low, high = min(a, b), max(a, b) + 1
    text = f"{low.numerator}/{low.denominator}..{high.numerator}/{high.denominator}"
    assert parse_tests(f"[{text}]").holds(value) is (low <= value <= high)
    assert parse_tests(f"({text})").holds(value) is (low < value < high)
    assert parse_tests(f"not([{text}])").holds(value) is not (low <= value <= high)
