"""Wood and the air round it. Temperatures in °F unless said otherwise, humidity and moisture in %."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction

from intake.trade.checked import Number, not_negative, positive, within
from intake.trade.errors import TradeError

SATURATED = 30
"""Moisture at which shrinkage is taken to start, %; Wood Handbook."""
LINEAR = (6, 14)
"""Moisture range over which one coefficient holds, %; Wood Handbook ch. 13."""
CLASSES = (Fraction(30), Fraction(40), Fraction(55), Fraction(65))
"""Relative humidity that parts very dry, dry, right, damp and wet; common practice, no source."""
DAILY = 5
"""No more %RH a day than this, where the book does not say; common practice, no source."""
LEAST_DAYS = {0: 0, 1: 7, 2: 14}
"""Days in conditioned air by distance from the right class, the same; common practice, no source."""


def moisture(temperature: Number, humidity: Number) -> float:
    """Equilibrium moisture content of wood, % of dry mass. 30 to 270 °F, 0 to 100 %RH, else TradeError.

    Source: Hailwood and Horrobin, Trans. Faraday Soc. 42B, 1946, with the coefficients of Simpson,
    USDA FPL-RN-0268, 1998; within about 0.1 % of the Wood Handbook's table.
    """
    within(temperature, 30, 270, "the temperature")
    t = float(temperature)
    return _hailwood_horrobin(
        humidity,
        330 + 0.452 * t + 0.00415 * t * t,
        0.791 + 0.000463 * t - 0.000000844 * t * t,
        6.34 + 0.000775 * t - 0.0000935 * t * t,
        1.09 + 0.0284 * t - 0.0000904 * t * t,
    )


def moisture_at_celsius(temperature: Number, humidity: Number) -> float:
    """The same with °C: −1 to 132 °C, 0 to 100 %RH, else TradeError.

    Source: Wood Handbook, FPL-GTR-190, 2010, ch. 4.
    """
    within(temperature, -1.2, 132.3, "the temperature")
    t = float(temperature)
    return _hailwood_horrobin(
        humidity,
        349 + 1.29 * t + 0.0135 * t * t,
        0.805 + 0.000736 * t - 0.00000273 * t * t,
        6.27 - 0.00938 * t - 0.000303 * t * t,
        1.91 + 0.0407 * t - 0.000293 * t * t,
    )


def _hailwood_horrobin(humidity: Number, w: float, k: float, k1: float, k2: float) -> float:
    within(humidity, 0, 100, "the humidity")
    kh = k * float(humidity) / 100
    hydrated = k1 * kh + 2 * k1 * k2 * kh * kh
    return 1800 / w * (kh / (1 - kh) + hydrated / (1 + k1 * kh + k1 * k2 * kh * kh))


def movement_coefficient(shrinkage: Number) -> Number:
    """Change of width for each % of moisture, from total shrinkage in %: 1/(3000/S − 20). Exact.

    0 < S < 100, else TradeError. Derived from the Wood Handbook's Eq. 13-3 at 10 % moisture; it
    reproduces its Table 13-5.
    """
    if not 0 < shrinkage < 100:
        raise TradeError("shrinkage must lie between 0 and 100")
    return 1 / (Fraction(3000) / shrinkage - 20)


def movement(width: Number, coefficient: Number, before: Number, after: Number) -> Number:
    """Change of an across-grain `width` from one moisture content (%) to another, in the unit of width.

    Width not below zero, coefficient above it, moisture 0 to 100, else TradeError; above 30 % nothing
    moves. Source: Wood Handbook ch. 13: Eq. 13-2 within 6 to 14 %, else Eq. 13-3.
    """
    not_negative(width, "the width")
    positive(coefficient, "the coefficient")
    within(before, 0, 100, "moisture")
    within(after, 0, 100, "moisture")
    start, end = min(before, SATURATED), min(after, SATURATED)
    low, high = LINEAR
    if low <= min(start, end) and max(start, end) <= high:
        return width * coefficient * (end - start)
    return width * (end - start) / (1 / coefficient - 10 + start)


def humidity_class(humidity: Number, classes: Sequence[Number] = CLASSES) -> int:
    """−2 very dry (under 30 %), −1 dry, 0 right (40 to 55 %), 1 damp, 2 wet (over 65 %).

    0 to 100, else TradeError. Source: common practice, no source.
    """
    within(humidity, 0, 100, "the humidity")
    very_dry, dry, damp, wet = classes
    return (humidity > damp) + (humidity > wet) - (humidity < dry) - (humidity < very_dry)


def days_to_condition(
    room: Number,
    shop: Number,
    classes: Sequence[Number] = CLASSES,
    daily: Number = DAILY,
    least_days: Mapping[int, Number] = LEAST_DAYS,
) -> int:
    """Days in the shop's air before anything is measured again; 0 for an instrument in the right class.

    No faster than `daily` %RH a day and no less than `least_days`, usually a week, two from very dry or wet.
    Source: common practice, no source.
    """
    step = abs(humidity_class(room, classes))
    within(shop, 0, 100, "the humidity")
    if step == 0:
        return 0
    positive(daily, "the change a day")
    return max(math.ceil(least_days[step]), math.ceil(max(shop - room, room - shop) / daily))


def water(mass: Number, before: Number, after: Number) -> Number:
    """Water taken up (positive) or given off from one moisture content to another, in the unit of mass.

    `mass` is what the instrument weighs at `before`. Mass above zero, moisture 0 to 100, else
    TradeError. Exact. Source: derived from the definition of moisture content.
    """
    positive(mass, "the mass")
    within(before, 0, 100, "moisture")
    within(after, 0, 100, "moisture")
    return mass * (after - before) / (100 + before)
