"""Tension and weight of strings against published tables and SI arithmetic; intonation."""

from __future__ import annotations

import math
from fractions import Fraction

from intake.trade import intonation, strings
from intake.trade.checks.model import DERIVED, Check

TABLE = "a string maker's published unit weights, as repeated in public code (name withheld)"
STATICS = "elementary statics, evaluated apart"
PLAIN = {
    ".008": 0.00001418, ".009": 0.00001794, ".010": 0.00002215, ".011": 0.00002680, ".012": 0.00003190,
    ".013": 0.00003744, ".014": 0.00004342, ".016": 0.00005671, ".017": 0.00006402, ".020": 0.00008861,
}  # fmt: skip
NICKEL = {
    ".024": 0.00010857, ".026": 0.00012671, ".030": 0.00017236, ".036": 0.00023964, ".042": 0.00032279,
    ".046": 0.00038216, ".052": 0.00048109,
}  # fmt: skip
LIGHT = [
    ("E4", ".012", None, 3.207e-5, 23.29), ("B3", ".016", None, 5.702e-5, 23.24),
    ("G3", ".024", ".013", 1.175e-4, 30.16), ("D3", ".032", ".014", 2.060e-4, 29.69),
    ("A2", ".042", ".016", 3.528e-4, 28.53), ("E2", ".053", ".018", 5.595e-4, 25.40),
]  # fmt: skip
SCALE = Fraction("25.4")


def checks() -> list[Check]:
    return [*_weights(), *_set(), *_physics(), *_forces(), *_intonation()]


def _weights() -> list[Check]:
    plain = [
        Check(
            TABLE,
            f"plain {gauge}",
            weight,
            strings.plain_unit_weight(Fraction(gauge)),
            0.01 * weight,
            "lb/in",
        )
        for gauge, weight in PLAIN.items()
    ]
    wound = [
        Check(
            TABLE,
            f"nickel-wound {gauge}, core assumed",
            weight,
            strings.estimated_unit_weight(Fraction(gauge), "wound_nickel"),
            0.05 * weight,
            "lb/in",
        )
        for gauge, weight in NICKEL.items()
    ]
    return plain + wound


def _weight(gauge: str, core: str | None) -> float:
    if core is None:
        return strings.plain_unit_weight(Fraction(gauge))
    return strings.wound_unit_weight(Fraction(gauge), Fraction(core))


def _set() -> list[Check]:
    rows, total = [], 0.0
    for note, gauge, core, weight, expected in LIGHT:
        ours = _weight(gauge, core)
        pull = strings.tension(ours, SCALE, strings.pitch(note))
        total += pull
        rows.append(Check(DERIVED, f"{gauge} on {core or 'no'} core", weight, ours, 0.0006 * weight, "lb/in"))
        rows.append(Check(DERIVED, f"{gauge} at {note}, 25.4 in", expected, pull, 0.011, "lbf"))
    rows.append(Check(DERIVED, "light bronze set at 25.4 in", 160.3, total, 0.06, "lbf"))
    rows.append(
        Check(
            "an article on neck resets: 150 to 180 lbf (name withheld)",
            "light bronze set at 25.4 in",
            165,
            total,
            15,
            "lbf",
        )
    )
    return rows


def _physics() -> list[Check]:
    """The same law in SI, from density, diameter, metres and hertz."""
    density, metres, hertz = 7850, 25.4 * 0.0254, 440 * 2 ** (-5 / 12)
    newtons = density * math.pi / 4 * (0.012 * 0.0254) ** 2 * (2 * metres * hertz) ** 2
    pull = strings.tension(strings.plain_unit_weight(Fraction(".012")), SCALE, strings.pitch("E4"))
    mersenne = "Mersenne's law in SI; Fletcher and Rossing, The Physics of Musical Instruments, ch. 2"
    lower = strings.tension(1e-4, SCALE, strings.pitch("E4", -1)) / strings.tension(
        1e-4, SCALE, strings.pitch("E4")
    )
    shorter = strings.tension(1e-4, Fraction("24.75"), 300) / strings.tension(1e-4, Fraction("25.5"), 300)
    return [
        Check(mersenne, "plain .012 at E4, 25.4 in", newtons / 4.4482216152605, pull, 1e-9, "lbf"),
        Check("ISO 16 and equal temperament", "E4", 329.628, strings.pitch("E4"), 0.0005, "Hz"),
        Check("ISO 16 and equal temperament", "B3", 246.942, strings.pitch("B3"), 0.0005, "Hz"),
        Check("Mersenne's law", "a semitone lower, tension to tension", 0.891, lower, 0.0005, ""),
        Check("Mersenne's law", "24.75 in for 25.5 in, tension to tension", 0.942, shorter, 0.0005, ""),
    ]


def _forces() -> list[Check]:
    angles = {6: 2.62, 10: 4.36, 15: 6.53, 20: 8.68, 25: 10.82}
    return [
        *(
            Check(STATICS, f"25 lbf bent by {angle}°", force, strings.downforce(25, angle), 0.0051, "lbf")
            for angle, force in angles.items()
        ),
        Check(
            STATICS,
            "160 lbf bent by 16° over a floating bridge",
            44.5,
            strings.downforce(160, 16),
            0.05,
            "lbf",
        ),
        Check(
            STATICS,
            "160 lbf, 1/2 in over the top",
            80,
            float(strings.turning_moment(160, Fraction(1, 2))),
            0,
            "lbf·in",
        ),
        Check(
            "plane geometry",
            "saddle 1/8 in, 1/2 in ahead of the pins",
            math.degrees(math.atan(0.25)),
            strings.break_angle(Fraction(1, 8), Fraction(1, 2)),
            1e-9,
            "deg",
        ),
    ]


def _intonation() -> list[Check]:
    shifts = [(3, "25.4", 0.044, "in"), (5, "25.4", 0.073, "in"), (10, "25.4", 0.147, "in"),
              (3, "650", 1.13, "mm"), (5, "650", 1.88, "mm"), (10, "650", 3.75, "mm")]  # fmt: skip
    stretch = [
        (".012 plain", ".012", 0.090, 23.29, 3.16), (".016 plain", ".016", 0.090, 23.24, 5.62),
        (".024 on .013", ".013", 0.090, 30.16, 2.86), (".053 on .018", ".018", 0.100, 25.40, 8.03),
    ]  # fmt: skip
    return [
        *(
            Check(
                DERIVED,
                f"saddle shift for {cents} cents at {scale} {unit}",
                shift,
                intonation.compensation_change(Fraction(scale), cents),
                0.0051 if unit == "mm" else 0.00051,
                unit,
            )
            for cents, scale, shift, unit in shifts
        ),
        Check(
            DERIVED,
            "what .0733 in does at 25.4 in",
            -4.97,
            intonation.cents_from_compensation(SCALE, 0.0733),
            0.0051,
            "cents",
        ),
        *(
            Check(
                "stretch as a cause: G. Byers 1996; the figure derived, computed apart",
                f"{name} pressed down at the 12th",
                cents,
                intonation.stretch_cents(SCALE, height, Fraction(core), tension),
                0.011,
                "cents",
            )
            for name, core, height, tension, cents in stretch
        ),
    ]
