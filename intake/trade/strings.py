"""Strings: weight, pitch, tension, and what they press on.

Gauges and lengths in inches, unit weights in pounds per inch, densities in kg/m3, pitches in hertz,
tensions in pounds of force, angles in degrees.
"""

from __future__ import annotations

import math
import re

from intake.trade.checked import Number, not_negative, positive, within
from intake.trade.errors import TradeError

GRAVITY = 9.80665 / 0.0254
"""Standard gravity in in/s2."""
LB_PER_IN3 = 0.0254**3 / 0.45359237
"""One kg/m3 in lb/in3."""
STEEL = 7850
"""Music wire and rolled steel, kg/m3; density tables give 7800 to 7850."""
BRONZE = 8800
"""Copper-tin wrap, kg/m3; density tables give 8780 to 8920."""
NICKEL_STEEL = 7900
"""Nickel-plated steel wrap, kg/m3; from memory."""
NYLON = 1140
"""Plain nylon, kg/m3; from memory."""
THICKEST_PLAIN = 0.0205
"""Steel above this gauge is wound where the book does not say; common practice, no source."""
STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def pitch(note: str, semitones: int = 0) -> float:
    """Pitch of a note such as "E2" or "F#3" in hertz, `semitones` from it; A4 is 440.

    TradeError for what is no note. Source: twelve-tone equal temperament; ISO 16 for A4.
    """
    match = re.fullmatch(r"([A-G])([#b]?)(-?[0-9])", note)
    if not match:
        raise TradeError(f"{note} is no note")
    step = STEPS[match[1]] + {"#": 1, "b": -1, "": 0}[match[2]] + 12 * (int(match[3]) - 4)
    return 440 * 2 ** ((step - STEPS["A"] + semitones) / 12)


def plain_unit_weight(gauge: Number, density: Number = STEEL) -> float:
    """Weight of a plain string, lb/in: density times π d²/4. Gauge above zero, else TradeError."""
    positive(gauge, "the gauge")
    positive(density, "the density")
    return float(density) * LB_PER_IN3 * math.pi * float(gauge) ** 2 / 4


def wound_unit_weight(
    gauge: Number, core: Number, core_density: Number = STEEL, wrap_density: Number = BRONZE
) -> float:
    """Weight of a round-wound string, lb/in, from its core and one layer of touching wrap wire.

    0 < core < gauge, else TradeError. An estimate, within about 5 %.
    Source: derived, volume of a helix of wire of (gauge − core)/2 round the core.
    """
    positive(core, "the core")
    if not core < gauge:
        raise TradeError("the core must be thinner than the string")
    positive(wrap_density, "the density")
    wire = (float(gauge) - float(core)) / 2
    wrap = float(wrap_density) * LB_PER_IN3 * math.pi**2 / 4 * wire * (float(core) + wire)
    return plain_unit_weight(core, core_density) + wrap


def usual_core(gauge: Number) -> float:
    """A core that a wound steel string of this gauge is likely to have, in inches.

    Assumed: a line through .013 under .024 and .018 under .053; no source.
    """
    positive(gauge, "the gauge")
    return min(0.013 + (float(gauge) - 0.024) * 0.005 / 0.029, 0.7 * float(gauge))


def estimated_unit_weight(gauge: Number, kind: str) -> float:
    """Unit weight where no table gives one. `kind`: plain, wound (bronze), wound_nickel or nylon.

    TradeError for another kind: the weight of a wound nylon string cannot be guessed.
    """
    if kind == "plain":
        return plain_unit_weight(gauge)
    if kind == "nylon":
        return plain_unit_weight(gauge, NYLON)
    if kind in ("wound", "wound_nickel"):
        wrap = BRONZE if kind == "wound" else NICKEL_STEEL
        return wound_unit_weight(gauge, usual_core(gauge), STEEL, wrap)
    raise TradeError(f"the weight of a {kind} string is not known")


def tension(unit_weight: Number, scale: Number, frequency: Number) -> float:
    """Tension in lbf: unit weight times (2 L f)², over gravity. All above zero, else TradeError.

    Source: Mersenne's law; Fletcher and Rossing, The Physics of Musical Instruments, ch. 2.
    """
    positive(unit_weight, "the unit weight")
    positive(scale, "the scale length")
    positive(frequency, "the pitch")
    return float(unit_weight) * (2 * float(scale) * float(frequency)) ** 2 / GRAVITY


def break_angle(height: Number, distance: Number) -> float:
    """Bend of the string behind a support `height` above the point `distance` behind it, degrees.

    Height not below zero, distance above it, else TradeError. Source: plane geometry.
    """
    not_negative(height, "the height")
    positive(distance, "the distance")
    return math.degrees(math.atan2(float(height), float(distance)))


def downforce(tension: Number, angle: Number) -> float:
    """Force on a support over which the string bends by `angle`: 2 T sin(φ/2), in the unit of tension.

    0 to 180 degrees, else TradeError. Source: elementary statics.
    """
    not_negative(tension, "the tension")
    within(angle, 0, 180, "the angle")
    return 2 * float(tension) * math.sin(math.radians(float(angle)) / 2)


def turning_moment(tension: Number, height: Number) -> Number:
    """Moment with which the strings tip a fixed bridge, lbf·in. Source: elementary statics."""
    not_negative(tension, "the tension")
    not_negative(height, "the height")
    return tension * height
