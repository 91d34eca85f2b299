"""Fret positions against the power law and the rule of 18."""

from __future__ import annotations

import math
from fractions import Fraction

from intake.trade.checks.model import DERIVED, Check
from intake.trade.frets import cents_between, fret_position, rule_of_18_position

POWER_LAW = "twelve-tone equal temperament (G. Byers, American Lutherie 47, 1996); evaluated apart"
RULE_OF_18 = "the rule of 18 (V. Galilei, 16th century, from memory); evaluated apart"
SCALES = {
    ("25.4", "in"): {1: 1.4256, 5: 6.3715, 7: 8.4475, 12: 12.7000, 14: 14.0856},
    ("650", "mm"): {1: 36.482, 5: 163.050, 7: 216.177, 12: 325.000, 14: 360.458, 17: 406.525, 19: 433.089},
    ("34", "in"): {1: 1.908, 5: 8.529, 7: 11.308, 12: 17.000, 14: 18.855, 17: 21.264, 19: 22.654},
    ("13.875", "in"): {1: 0.779, 5: 3.480, 7: 4.615, 12: 6.938, 14: 7.694, 17: 8.678, 19: 9.245},
}
OLD_RULE = {
    1: (1.4111, -1.05),
    5: (6.3140, -5.23),
    7: (8.3757, -7.32),
    12: (12.6076, -12.54),
    14: (13.9895, -14.64),
}


def checks() -> list[Check]:
    return [*_positions(), *_divisor(), *_old_rule()]


def _positions() -> list[Check]:
    return [
        Check(
            POWER_LAW,
            f"fret {fret} at {scale} {unit}",
            expected,
            float(fret_position(Fraction(scale), fret)),
            0.00051 if unit == "mm" or scale != "25.4" else 0.000051,
            unit,
        )
        for (scale, unit), frets in SCALES.items()
        for fret, expected in frets.items()
    ]


def _divisor() -> list[Check]:
    """Scale over first space, and the same by walking up the board with the divisor alone."""
    remaining = 25.4
    for _ in range(20):
        remaining -= remaining / 17.817154
    return [
        Check(
            "G. Byers, American Lutherie 47, 1996",
            "scale over the first fret's distance",
            17.817,
            float(1 / fret_position(Fraction(1), 1)),
            0.0005,
            "",
        ),
        Check(
            "repeated division of what remains by 17.817154",
            "fret 20 at 25.4 in",
            25.4 - remaining,
            float(fret_position(Fraction("25.4"), 20)),
            1e-6,
            "in",
        ),
        Check(
            "a just fifth, 3/2, is 1.955 cents wider (arithmetic)",
            "fret 7, cents short of a just fifth",
            1200 * math.log2(3 / 2) - 700,
            1200 * math.log2(1.5) - cents_between(1, 1 - float(fret_position(Fraction(1), 7))),
            1e-9,
            "cents",
        ),
    ]


def _old_rule() -> list[Check]:
    rows = []
    scale = Fraction("25.4")
    for fret, (place, cents) in OLD_RULE.items():
        old, new = rule_of_18_position(scale, fret), fret_position(scale, fret)
        error = cents_between(scale - new, scale - old)
        rows.append(
            Check(RULE_OF_18, f"fret {fret} at 25.4 in by the rule of 18", place, float(old), 0.000051, "in")
        )
        rows.append(
            Check(DERIVED, f"fret {fret} by the rule of 18, against equal", cents, error, 0.0051, "cents")
        )
    return rows
