"""The neck as a lever: symmetry, monotony, exactness, refusals."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.trade import neck
from intake.trade.errors import TradeError

F = Fraction
HEIGHT = st.fractions(-1, 1, max_denominator=1000)
SCALE = st.fractions(10, 40, max_denominator=100)
SHIFT = st.fractions(0, F(1, 2), max_denominator=100)
RELIEF = st.fractions(F(-1, 20), F(1, 20), max_denominator=10000)


@given(SCALE)
def test_without_compensation_the_doubling_rule_is_exact(scale: Fraction) -> None:
    assert neck.saddle_ratio(scale) == 2
    assert isinstance(neck.saddle_ratio(scale), Fraction)


@given(HEIGHT, HEIGHT, SCALE, SHIFT)
def test_saddle_change_is_antisymmetric(one: Fraction, other: Fraction, scale: Fraction, c: Fraction) -> None:
    assert neck.saddle_drop(one, other, scale, c) == -neck.saddle_drop(other, one, scale, c)


@given(HEIGHT, HEIGHT, SCALE, SHIFT)
def test_dropping_the_saddle_so_far_gives_the_wanted_action(
    action: Fraction, wanted: Fraction, scale: Fraction, c: Fraction
) -> None:
    """Back through the similar triangle: the 12th falls by the drop times x over the whole length."""
    drop = neck.saddle_drop(action, wanted, scale, c)
    assert action - drop * (scale / 2) / (scale + c) == wanted


@given(RELIEF, RELIEF)
def test_more_relief_never_lowers_the_action(one: Fraction, other: Fraction) -> None:
    less, more = sorted((one, other))
    assert neck.action_change_from_relief(less, more) >= 0


@given(HEIGHT, st.fractions(0, 1), st.fractions(0, 1))
def test_a_deficit_is_never_negative_and_none_where_enough_is_left(
    left: Fraction, a: Fraction, b: Fraction
) -> None:
    least, wanted = sorted((a, b))
    deficit = neck.neck_angle_deficit(left, wanted, least)
    assert deficit >= 0
    assert (deficit == 0) or left < least
    assert left + deficit == (wanted if left < least else left)


@given(st.fractions(0, 1), st.fractions(1, 6), st.fractions(5, 20))
def test_the_wedge_lifts_the_plane_by_the_deficit(
    deficit: Fraction, heel: Fraction, distance: Fraction
) -> None:
    wedge = neck.heel_wedge(deficit, heel, distance)
    assert wedge / heel * distance == deficit
    assert neck.neck_angle_change(deficit, distance) >= 0


@given(SCALE, RELIEF, st.integers(0, 24))
def test_the_bow_lies_between_its_ends_and_is_deepest_in_the_middle(
    scale: Fraction, relief: Fraction, step: int
) -> None:
    x = scale * step / 24
    depth = neck.relief_at(x, relief, scale / 10, scale / 2)
    assert abs(depth) <= abs(relief)
    assert depth * relief >= 0
    assert neck.relief_at(scale * F(3, 10), relief, scale / 10, scale / 2) == relief


@given(HEIGHT, SCALE)
def test_a_string_along_the_frets_meets_the_saddle_at_its_own_height(
    height: Fraction, scale: Fraction
) -> None:
    assert float(neck.height_over_plane_at_saddle(height, height, 0, scale)) == pytest.approx(float(height))
    assert float(neck.straightedge_implied(height, height, 0, height, scale)) == pytest.approx(0)


@given(SCALE, st.fractions(0, F(1, 4)), st.fractions(0, F(1, 4)))
def test_higher_action_means_a_lower_straightedge(scale: Fraction, one: Fraction, other: Fraction) -> None:
    low, high = sorted((one, other))
    nut = F("0.02")
    assert neck.straightedge_implied(high, nut, 0, F(1, 8), scale) <= neck.straightedge_implied(
        low, nut, 0, F(1, 8), scale
    )


@pytest.mark.parametrize(
    "refused",
    [
        lambda: neck.saddle_ratio(0),
        lambda: neck.saddle_ratio(-25),
        lambda: neck.saddle_ratio(25, 5),
        lambda: neck.saddle_ratio(25, 0, 0),
        lambda: neck.saddle_ratio(float("nan")),
        lambda: neck.saddle_ratio(float("inf")),
        lambda: neck.neck_angle_deficit(0, F(1, 16), F(1, 8)),
        lambda: neck.heel_wedge(-1, 3, 11),
        lambda: neck.heel_wedge(1, 0, 11),
        lambda: neck.heel_wedge(1, 3, 0),
        lambda: neck.joint_to_saddle(25, 0, 0),
        lambda: neck.relief_at(1, 0, 5, 5),
    ],
)
def test_nonsense_is_refused(refused: object) -> None:
    with pytest.raises(TradeError):
        refused()  # type: ignore[operator]
