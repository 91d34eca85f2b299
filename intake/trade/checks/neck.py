"""Saddle, relief, neck angle, straightedge and buzz against worked examples computed apart."""

from __future__ import annotations

from fractions import Fraction

from intake.trade import buzz, neck
from intake.trade.checks.model import DERIVED, Check

SCALE = Fraction("25.4")
F = Fraction


def _derived(what: str, expected: float, ours: float | Fraction, tolerance: float, unit: str = "in") -> Check:
    return Check(DERIVED, what, expected, float(ours), tolerance, unit)


def checks() -> list[Check]:
    return [*_saddle(), *_angle(), *_straightedge(), *_buzz()]


def _saddle() -> list[Check]:
    c = F("0.15")
    return [
        _derived(
            "saddle height per 12th-fret height, L 25.4, c .15", 2.0118, neck.saddle_ratio(SCALE, c), 5e-5, ""
        ),
        _derived(
            "saddle drop for 2/64 in at the 12th",
            0.06287,
            neck.saddle_drop(F(8, 64), F(6, 64), SCALE, c),
            1e-5,
        ),
        _derived(
            "saddle drop for 1/64 in at the 12th",
            0.03143,
            neck.saddle_drop(F(7, 64), F(6, 64), SCALE, c),
            1e-5,
        ),
        _derived(
            "bass, 34 in, per height at the 17th", 1.6107, neck.saddle_ratio(34, F("0.25"), 17), 5e-5, ""
        ),
        _derived(
            "bass, saddle drop for .020 in at the 17th",
            0.0322,
            neck.saddle_drop(F("0.02"), 0, 34, F("0.25"), 17),
            5e-5,
        ),
        _derived("per height at the 14th, no compensation", 1.803, neck.saddle_ratio(SCALE, 0, 14), 5e-4, ""),
        _derived("per height at the 17th, no compensation", 1.599, neck.saddle_ratio(SCALE, 0, 17), 5e-4, ""),
        Check(
            "common practice, no source: double it",
            "saddle height per 12th-fret height",
            2,
            float(neck.saddle_ratio(SCALE, c)),
            0.02,
            "",
        ),
        _derived(
            "12th-fret action when relief goes .018 to .006",
            -0.0204,
            neck.action_change_from_relief(F("0.018"), F("0.006")),
            1e-9,
        ),
        _derived(
            "nylon, 650 mm, 4.8 to 4.0 mm at the 12th",
            1.60,
            neck.saddle_drop(F("4.8"), F(4), 650, F(2)),
            0.0051,
            "mm",
        ),
    ]


def _angle() -> list[Check]:
    c = F("0.1")
    left = F(3, 64) - neck.saddle_drop(F(8, 64), F(6, 64), SCALE, c)
    deficit = neck.neck_angle_deficit(left, F(8, 64), F(1, 16))
    distance = neck.joint_to_saddle(SCALE, c, 14)
    twelve = F(8, 64) - (F(5, 64) - neck.saddle_drop(F(9, 64), F("6.5") / 64, SCALE, c))
    old_distance = neck.joint_to_saddle(F("24.9"), c, 14)
    old = F(8, 64) - (F(3, 64) - neck.saddle_drop(F(9, 64), F(6, 64), F("24.9"), c))
    return [
        _derived("saddle left, 8/64 to 6/64 in from 3/64 in", -0.0159, left, 5e-5),
        _derived("neck angle deficit of that", 0.1409, deficit, 5e-5),
        _derived("joint at fret 14 to saddle", 11.414, distance, 5e-4),
        _derived("heel wedge at a 3.75 in heel", 0.0463, neck.heel_wedge(deficit, F("3.75"), distance), 5e-5),
        _derived("its angle", 0.71, neck.neck_angle_change(deficit, distance), 0.005, "deg"),
        _derived("plane at the saddle for .010 in at the heel", 0.0304, distance / F("3.75") / 100, 5e-5),
        _derived("twelve-string, 9/64 to 6.5/64 in: deficit", 0.125, twelve, 0.001),
        _derived("its wedge", 0.041, neck.heel_wedge(twelve, F("3.75"), distance), 5e-4),
        _derived("its angle", 0.63, neck.neck_angle_change(twelve, distance), 0.006, "deg"),
        _derived("old 24.9 in, 9/64 to 6/64 in: deficit", 0.172, old, 0.001),
        _derived("its wedge at a 3.6 in heel", 0.055, neck.heel_wedge(old, F("3.6"), old_distance), 6e-4),
    ]


def _straightedge() -> list[Check]:
    cases = (
        ("healthy: .090, nut .018, no relief, 1/8 in showing", "25.4 0.1 0.09 0.018 0 1/8", 0.047),
        ("5/64, nut .016, relief .006, 7/64", "25.4 0.1 5/64 0.016 0.006 7/64", 0.035),
        ("8/64, nut .030, relief .018, 9/64", "25.4 0.15 8/64 0.03 0.018 9/64", 0.079),
        ("6.5/64, nut .020, relief .008, 8/64", "25.4 0.1 13/128 0.02 0.008 8/64", 0.063),
        ("9/64, nut .020, relief .004, 5/64", "25.4 0.1 9/64 0.02 0.004 5/64", 0.196),
        ("24.9 in, 9/64, nut .020, relief .012, 3/64", "24.9 0.1 9/64 0.02 0.012 3/64", 0.222),
    )
    return [
        _derived(f"straightedge under the bridge top, {what}", gap, _under_bridge_top(measures), 6e-4)
        for what, measures, gap in cases
    ]


def _under_bridge_top(measures: str) -> float | Fraction:
    """Scale, compensation, action, nut, relief and saddle showing, in inches."""
    scale, c, action, nut, relief, showing = (F(measure) for measure in measures.split())
    return -neck.straightedge_implied(action, nut, relief, showing, scale, c)


class _Example:
    """L 25.4, c .10, .090 at the 12th, string .020 over the plane at the nut, swing .040."""

    def __init__(self, relief: float = 0.006, bumps: dict[int, float] | None = None) -> None:
        self.board = buzz.Board(25.4, 20, relief, 14, 0.1, bumps=bumps or {})
        twelfth = 0.090 + self.board.top(12)
        at_first = 0.020 + (twelfth - 0.020) * self.board.x(1) / self.board.x(12)
        self.nut = at_first - self.board.top(1)

    def gaps(self, fret: int) -> dict[int, float]:
        return buzz.clearances(self.board, fret, *buzz.open_string(self.board, 0.090, self.nut))

    def tight(self, fret: int) -> buzz.Tight:
        return buzz.tightest(self.board, 0.090, self.nut, 0.040)[fret]


def _buzz() -> list[Check]:
    plain = _Example()
    high, higher = _Example(bumps={9: 0.004}), _Example(bumps={9: 0.006})
    length = plain.board.saddle - plain.board.x(5)
    pluck = plain.gaps(5)[6] - buzz.pluck_envelope(plain.board.x(6) - plain.board.x(5), length, 0.030, 4.5)
    return [
        _derived("held at 1, gap over fret 2", 0.0110, plain.gaps(1)[2], 5e-5),
        _derived("held at 1, margin", 0.0044, plain.tight(1).margin, 5e-5),
        _derived("held at 5, gap over fret 6", 0.0093, plain.gaps(5)[6], 5e-5),
        _derived("held at 5, gap over fret 7", 0.0178, plain.gaps(5)[7], 6e-5),
        _derived("held at 5, gap over fret 8", 0.0255, plain.gaps(5)[8], 6e-5),
        _derived("held at 5, margin", 0.0041, plain.tight(5).margin, 5e-5),
        _derived("held at 8, gap over fret 9", 0.0084, plain.gaps(8)[9], 5e-5),
        _derived("held at 8, margin", 0.0040, plain.tight(8).margin, 5e-5),
        _derived("fret 9 proud by .004, held at 8, gap", 0.0044, high.gaps(8)[9], 5e-5),
        _derived("fret 9 proud by .004, held at 8, margin", 0.0000, high.tight(8).margin, 5e-5),
        _derived("fret 9 proud by .006, held at 8, margin", -0.0020, higher.tight(8).margin, 5e-5),
        _derived("fret 9 proud by .006, held at 7, margin", 0.0017, higher.tight(7).margin, 5e-5),
        _derived("no relief, held at 1, gap over fret 2", 0.0090, _Example(0.0).gaps(1)[2], 5e-5),
        _derived("relief .012, held at 1, gap over fret 2", 0.0130, _Example(0.012).gaps(1)[2], 5e-5),
        _derived("plucked .030, 4.5 in from the saddle, held at 5, margin", 0.0022, pluck, 5e-5),
    ]
