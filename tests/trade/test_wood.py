"""Wood and arches: which way things go, and the ends of the scales."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.trade import geometry, wood
from intake.trade.errors import TradeError

F = Fraction
DEGREES = st.floats(30, 120)
HUMIDITY = st.floats(0, 100)
MOISTURE = st.fractions(0, 40, max_denominator=100)
COEFFICIENT = st.fractions(F(1, 2000), F(1, 200), max_denominator=100000)


@given(DEGREES, HUMIDITY, HUMIDITY)
def test_damper_air_never_means_drier_wood(degrees: float, one: float, other: float) -> None:
    dry, damp = sorted((one, other))
    assert 0 <= wood.moisture(degrees, dry) <= wood.moisture(degrees, damp) < 40


@given(st.floats(50, 120), st.floats(50, 120), st.floats(5, 95))
def test_warmer_air_never_means_wetter_wood(one: float, other: float, humidity: float) -> None:
    cool, warm = sorted((one, other))
    assert wood.moisture(warm, humidity) <= wood.moisture(cool, humidity) + 1e-9


@given(COEFFICIENT, MOISTURE, MOISTURE)
def test_drying_never_swells(coefficient: Fraction, before: Fraction, after: Fraction) -> None:
    change = wood.movement(15, coefficient, before, after)
    assert (change > 0) == (min(after, 30) > min(before, 30))
    assert (change < 0) == (min(after, 30) < min(before, 30))
    assert change > -15


@given(COEFFICIENT, st.fractions(6, 14), st.fractions(6, 14))
def test_inside_the_linear_range_movement_is_exact_and_comes_back(
    c: Fraction, one: Fraction, other: Fraction
) -> None:
    assert wood.movement(15, c, one, other) == 15 * c * (other - one) == -wood.movement(15, c, other, one)


@given(COEFFICIENT, MOISTURE, MOISTURE)
def test_both_equations_of_movement_agree_near_their_border(
    c: Fraction, before: Fraction, after: Fraction
) -> None:
    """Wood Handbook Eq. 13-2 is Eq. 13-3 taken at 10 %: they part by some hundredths at most."""
    linear = float(15 * c * (min(after, 30) - min(before, 30)))
    assert float(wood.movement(15, c, before, after)) == pytest.approx(linear, rel=0.12, abs=1e-12)


@given(st.fractions(F(1, 10), 30, max_denominator=100))
def test_shrinkage_and_coefficient_are_inverse(shrinkage: Fraction) -> None:
    assert F(3000) / (1 / wood.movement_coefficient(shrinkage) + 20) == shrinkage


@pytest.mark.parametrize(
    ("humidity", "expected"),
    [(0, -2), (29, -2), (30, -1), (39, -1), (40, 0), (55, 0), (F("55.1"), 1), (65, 1), (66, 2), (100, 2)],
)
def test_classes_at_their_bounds(humidity: Fraction, expected: int) -> None:
    assert wood.humidity_class(humidity) == expected


@given(st.fractions(0, 100), st.fractions(40, 55))
def test_time_in_the_shops_air_follows_the_class_and_five_percent_a_day(
    room: Fraction, shop: Fraction
) -> None:
    days = wood.days_to_condition(room, shop)
    if wood.humidity_class(room) == 0:
        assert days == 0
    else:
        assert days >= 7
        assert days * wood.DAILY >= abs(room - shop)


@given(st.fractions(1, 10000), st.fractions(0, 30), st.fractions(0, 30))
def test_water_taken_up_is_given_off_again(mass: Fraction, before: Fraction, after: Fraction) -> None:
    gained = wood.water(mass, before, after)
    assert wood.water(mass + gained, after, before) == -gained


@given(st.floats(5, 1000), st.floats(0.01, 5))
def test_radius_and_rise_are_inverse(radius: float, width: float) -> None:
    rise = geometry.sagitta(radius, width)
    assert float(geometry.radius_from_rise(rise, width)) == pytest.approx(radius, rel=1e-6)
    assert rise == pytest.approx(width**2 / (8 * radius), rel=0.1)


@given(st.floats(1, 1000), st.floats(1, 1000))
def test_a_tighter_arch_rises_more(one: float, other: float) -> None:
    tight, wide = sorted((one, other))
    assert geometry.drop_from_centre(tight, 0.9) >= geometry.drop_from_centre(wide, 0.9)
    assert geometry.drop_from_centre(tight, 0.9) == geometry.drop_from_centre(tight, -0.9)


def test_a_half_circle_rises_by_its_radius() -> None:
    assert geometry.sagitta(5, 10) == pytest.approx(5)


@pytest.mark.parametrize(
    "refused",
    [
        lambda: wood.moisture(29, 50),
        lambda: wood.moisture(300, 50),
        lambda: wood.moisture(70, 101),
        lambda: wood.moisture(70, -1),
        lambda: wood.moisture(float("nan"), 50),
        lambda: wood.moisture_at_celsius(150, 50),
        lambda: wood.movement(-1, F(1, 500), 8, 9),
        lambda: wood.movement(1, 0, 8, 9),
        lambda: wood.movement(1, F(1, 500), 8, 200),
        lambda: wood.movement_coefficient(0),
        lambda: wood.humidity_class(120),
        lambda: wood.water(0, 8, 9),
        lambda: geometry.sagitta(0, 1),
        lambda: geometry.sagitta(1, 3),
        lambda: geometry.radius_from_rise(0, 1),
        lambda: geometry.saddle_profile([1, 2], [1], 16, 2),
    ],
)
def test_nonsense_is_refused(refused: object) -> None:
    with pytest.raises(TradeError):
        refused()  # type: ignore[operator]
