"""Unary tests of S-FEEL (OMG Decision Model and Notation): what a cell says, exactly."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.book.sfeel import Interval, Same, SFeelError, UnaryTests, parse_tests

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
    ("steel-string, one_way", "one_way", True),
    ("steel-string", "steel", False),
    ("not(none)", "none", False),
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
    "cell", ["", "<", "two words", "not", "<high", "[1..", "1..2", '"open', "1/0", "not(", "-,1", "= 3"]
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


scalars = st.one_of(
    st.fractions(max_denominator=128),
    st.booleans(),
    st.text(st.characters(exclude_categories=("Cs",)), max_size=8),
)


@st.composite
def intervals(draw: st.DrawFn) -> Interval:
    low, high = sorted(draw(st.lists(st.fractions(max_denominator=128), min_size=2, max_size=2, unique=True)))
    match draw(st.sampled_from(("point", "above", "under", "between"))):
        case "point":
            return Interval(low, low, True, True)
        case "above":
            return Interval(low, None, draw(st.booleans()))
        case "under":
            return Interval(None, high, False, draw(st.booleans()))
        case _:
            return Interval(low, high, draw(st.booleans()), draw(st.booleans()))


tests = st.one_of(intervals(), scalars.filter(lambda value: isinstance(value, (bool, str))).map(Same))


def written(test: Interval | Same) -> str:
    """A test as people write it."""
    if isinstance(test, Same):
        quoted = str(test.value).replace("\\", "\\\\").replace('"', '\\"')
        return str(test.value).lower() if isinstance(test.value, bool) else f'"{quoted}"'
    if test.is_point:
        return str(test.low)
    if test.low is None or test.high is None:
        sign = "<" if test.low is None else ">"
        return f"{sign}{'=' if test.low_closed or test.high_closed else ''}{test.ends()[0]}"
    return f"{'[' if test.low_closed else '('}{test.low}..{test.high}{']' if test.high_closed else ')'}"


@given(st.lists(tests, min_size=1, max_size=4), st.booleans(), scalars)
def test_a_cell_written_down_is_read_as_it_was_meant(
    meant: list[Interval | Same], negated: bool, value: object
) -> None:
    text = ",".join(map(written, meant))
    text = f"not({text})" if negated else text
    read = parse_tests(text)
    assert read == UnaryTests(text, tuple(meant), negated)
    assert read.holds(value) is (any(test.holds(value) for test in meant) is not negated)


@given(st.text(max_size=30))
def test_whatever_stands_in_a_cell_is_read_or_refused_in_words(text: str) -> None:
    try:
        parse_tests(text)
    except SFeelError as refused:
        assert str(refused)
