"""Arches of top, back and board, against plane geometry."""

from __future__ import annotations

import math
from fractions import Fraction

from intake.trade.checks.model import DERIVED, GEOMETRY, Check
from intake.trade.geometry import drop_from_centre, radius_from_rise, saddle_profile, sagitta
from intake.trade.neck import saddle_ratio

PROFILE = (0.1807, 0.1953, 0.1986, 0.1905, 0.1712, 0.1406)


def checks() -> list[Check]:
    arches = [
        ("15 ft back across 14.75 in", 180, "14.75", 0.1511),
        ("25 ft top across 15 in", 300, "15", 0.0938),
        ("28 ft across 15.625 in", 336, "15.625", 0.0908),
        ("15 ft along 20 in", 180, "20", 0.2780),
    ]
    drops = [("7.25", 0.0783), ("9.5", 0.0596), ("12", 0.0471), ("16", 0.0353), ("20", 0.0282)]
    half = Fraction("1.0625")
    return [
        *(
            Check(GEOMETRY, f"rise of a {what}", expected, sagitta(radius, Fraction(width)), 0.00005, "in")
            for what, radius, width, expected in arches
        ),
        Check(
            GEOMETRY,
            "radius of a back that rises 0.100 in over 14.75 in",
            272.0,
            float(radius_from_rise(Fraction("0.1"), Fraction("14.75"))),
            0.05,
            "in",
        ),
        *(
            Check(
                GEOMETRY,
                f"{radius} in board, drop 1.0625 in from the centre",
                expected,
                drop_from_centre(Fraction(radius), half),
                0.00005,
                "in",
            )
            for radius, expected in drops
        ),
        Check(
            "trigonometry: R(1 − cos asin(w/2R))",
            "15 ft back across 14.75 in",
            180 * (1 - math.cos(math.asin(14.75 / 360))),
            sagitta(180, Fraction("14.75")),
            1e-9,
            "in",
        ),
        *_profile(),
    ]


def _profile() -> list[Check]:
    """Six strings over 2.125 in, 16 in board, .090 to .070 in at the 12th, plain doubling."""
    actions = [Fraction(90 - 4 * number, 1000) for number in range(6)]
    offsets = [Fraction("1.0625") - Fraction("0.425") * number for number in range(6)]
    ratio = saddle_ratio(Fraction("25.4"), Fraction("0.1"))
    ours = saddle_profile(actions, offsets, 16, ratio)
    return [
        Check(
            DERIVED, f"saddle height under string {6 - number}, 16 in board", expected, height, 0.0001, "in"
        )
        for number, (expected, height) in enumerate(zip(PROFILE, ours, strict=True))
    ]
