"""Frets: positions and wear."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.trade import frets
from intake.trade.errors import TradeError

F = Fraction
CROWN = F("0.045")
WEAR = st.dictionaries(st.integers(1, 24), st.fractions(0, CROWN, max_denominator=2000), max_size=12)
SCALE = st.fractions(10, 40, max_denominator=100)


@given(SCALE)
def test_octaves_are_exact(scale: Fraction) -> None:
    assert frets.fret_position(scale, 0) == 0
    assert frets.fret_position(scale, 12) == scale / 2
    assert frets.fret_position(scale, 24) == scale * F(3, 4)


@given(SCALE, st.integers(1, 47))
def test_frets_climb_closer_and_closer(scale: Fraction, fret: int) -> None:
    before, here, after = (float(frets.fret_position(scale, fret + step)) for step in (-1, 0, 1))
    assert 0 <= before < here < after < scale
    assert after - here < here - before


@given(SCALE, st.integers(0, 36))
def test_every_fret_is_a_hundred_cents(scale: Fraction, fret: int) -> None:
    here, there = (scale - frets.fret_position(scale, fret + step) for step in (0, 1))
    assert frets.cents_between(here, there) == pytest.approx(100, abs=1e-6)


@given(WEAR, st.integers(1, 24), st.fractions(0, F(1, 100), max_denominator=2000))
def test_more_wear_never_leaves_more_crown(wear: dict[int, Fraction], fret: int, deeper: Fraction) -> None:
    worse = {**wear, fret: min(CROWN, wear.get(fret, F(0)) + deeper)}
    assert frets.crown_after_levelling(CROWN, worse) <= frets.crown_after_levelling(CROWN, wear)
    assert frets.frets_below(CROWN, worse, F("0.03"), 24) >= frets.frets_below(CROWN, wear, F("0.03"), 24)


@given(WEAR)
def test_levelling_goes_to_the_lowest_fret(wear: dict[int, Fraction]) -> None:
    left = frets.crowns_left(CROWN, wear, range(1, 25))
    assert list(left) == list(range(1, 25))
    assert frets.crown_after_levelling(CROWN, wear) == min(left.values())


@given(WEAR)
def test_a_spot_level_serves_only_where_every_limit_is_kept(wear: dict[int, Fraction]) -> None:
    if frets.spot_level_serves(CROWN, wear, F("0.03")):
        assert 1 <= len(frets.worn_frets(wear)) <= frets.SPOT_FRETS
        assert frets.crown_after_levelling(CROWN, wear) >= F("0.03")
        assert max(wear.values()) <= frets.SPOT_DEPTH


@given(st.floats(), st.integers(-100, 100))
def test_positions_are_numbers_or_refused(scale: float, fret: int) -> None:
    try:
        place = frets.fret_position(scale, fret)
    except TradeError:
        return
    assert 0 <= place <= scale  # equal only where a float has no room for the difference


def test_the_limit_itself_is_not_below_it() -> None:
    assert frets.frets_below(F("0.036"), {1: F("0.006")}, F("0.030")) == 0
    assert frets.frets_below(F("0.036"), {1: F("0.0061")}, F("0.030")) == 1


@pytest.mark.parametrize(
    "refused",
    [
        lambda: frets.fret_position(25, -1),
        lambda: frets.fret_position(25, 49),
        lambda: frets.crowns_left(CROWN, {1: F("0.046")}),
        lambda: frets.crowns_left(CROWN, {1: F(-1)}),
        lambda: frets.crowns_left(F(0), {}),
        lambda: frets.frets_below(F("0.020"), {1: F("0.001")}, F("0.030")),
        lambda: frets.cents_between(0, 1),
        lambda: frets.rule_of_18_position(0, 1),
    ],
)
def test_nonsense_is_refused(refused: object) -> None:
    with pytest.raises(TradeError):
        refused()  # type: ignore[operator]


@pytest.mark.parametrize("count", [F(49), F(10**30), F(-1)])
def test_a_count_of_frets_that_no_neck_has_is_refused_and_never_listed(count: Fraction) -> None:
    with pytest.raises(TradeError):
        frets.numbered(count)
    with pytest.raises(TradeError):
        frets.frets_below(CROWN, {}, F("0.030"), count)
