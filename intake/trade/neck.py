"""The neck as a lever: action, saddle, relief, neck angle. Lengths in inches unless said otherwise.

Strings are straight from nut to saddle, so that heights along them are linear.
"""

from __future__ import annotations

import math
from fractions import Fraction

from intake.trade.checked import Number, not_negative, positive, within
from intake.trade.errors import TradeError
from intake.trade.frets import fret_position

RELIEF_SHARE = Fraction(17, 10)
"""κ: what the 12th-fret action falls for each unit of relief taken out by the rod.

Derived from bend models that give 1.2 to 2.4; a forecast, to be measured again. No outside source.
"""
RELIEF_AT_12 = Fraction(36, 100)
"""The part of the relief that stands under the fret plane at the 12th fret. Derived."""
STRAIGHTEDGE_MARGIN = Fraction(1, 16)
"""Expected and measured straightedge may differ by this; common practice, no source."""
TIGHT_RADIUS = Fraction(29, 4)
"""The most arched board in common use (7 1/4 in); common practice, no source."""
USUAL_SPREAD = Fraction(17, 8)
"""Outer strings apart at the 12th fret where the book does not say; common practice, no source."""


def speaking_length(scale: Number, compensation: Number = 0) -> Number:
    """Nut to saddle, L + c; L above zero, c no more than a tenth of it, else TradeError."""
    positive(scale, "the scale length")
    within(compensation, -scale / 10, scale / 10, "the compensation")
    return scale + compensation


def saddle_ratio(scale: Number, compensation: Number = 0, fret: int = 12) -> Number:
    """Saddle height per string height at `fret`: (L + c) / x_n. Exact at fret 12, where it is 2(1 + c/L).

    Fret 1 to 48, else TradeError. Source: derived, similar triangles.
    """
    within(fret, 1, 48, "the fret")
    return speaking_length(scale, compensation) / fret_position(scale, fret)


def saddle_drop(
    action: Number, wanted: Number, scale: Number, compensation: Number = 0, fret: int = 12
) -> Number:
    """What comes off the saddle to bring the action at `fret` to `wanted`; negative: it must rise.

    Linear and antisymmetric in `action` and `wanted`. Source: derived, similar triangles.
    """
    return (action - wanted) * saddle_ratio(scale, compensation, fret)


def action_change_from_relief(relief: Number, wanted: Number, share: Number = RELIEF_SHARE) -> Number:
    """Forecast change of the 12th-fret action when the rod brings `relief` to `wanted`.

    Negative where relief is taken out. Source: derived, see RELIEF_SHARE.
    """
    return share * (wanted - relief)


def neck_angle_deficit(left: Number, wanted: Number, least: Number) -> Number:
    """How far the fret plane must rise at the saddle to show `wanted`; 0 where `left` reaches `least`.

    TradeError where the wanted saddle is under the least. Source: derived; the limits are the book's.
    """
    if wanted < least:
        raise TradeError("the wanted saddle must not be under the least one")
    return wanted - left if left < least else Fraction(0)


def joint_to_saddle(scale: Number, compensation: Number, join_fret: int) -> Number:
    """Body joint to saddle, (L + c) − x_j. Fret 1 to 48, else TradeError."""
    within(join_fret, 1, 48, "the fret at the body join")
    return speaking_length(scale, compensation) - fret_position(scale, join_fret)


def heel_wedge(deficit: Number, heel_depth: Number, distance: Number) -> Number:
    """What comes off at the heel cap, tapering to nothing at the board: H · deficit / D.

    Heel depth and distance from joint to saddle above zero, deficit not below it, else TradeError.
    Source: derived, similar triangles.
    """
    not_negative(deficit, "the deficit")
    positive(heel_depth, "the heel depth")
    positive(distance, "the distance from joint to saddle")
    return heel_depth * deficit / distance


def neck_angle_change(deficit: Number, distance: Number) -> float:
    """The angle of that wedge in degrees, atan(deficit / D). Errors as `heel_wedge`."""
    not_negative(deficit, "the deficit")
    positive(distance, "the distance from joint to saddle")
    return math.degrees(math.atan(float(deficit) / float(distance)))


def relief_at(x: Number, relief: Number, first: Number, last: Number) -> Number:
    """How far a neck with `relief` lies under its plane at `x`: a parabola from `first` to `last`, 0 beyond.

    `first` under `last`, else TradeError. Source: derived.
    """
    if not first < last:
        raise TradeError("the bow must start before it ends")
    if not first <= x <= last:
        return Fraction(0)
    return 4 * relief * (x - first) * (last - x) / (last - first) ** 2


def height_over_plane_at_saddle(
    action: Number, nut: Number, relief: Number, scale: Number, compensation: Number = 0
) -> Number:
    """Height of the string over the extended fret plane at the saddle.

    `action` at the 12th fret and `nut` at the 1st, string open. Source: derived, similar triangles.
    """
    over_plane = action - RELIEF_AT_12 * relief
    first, twelfth = fret_position(scale, 1), fret_position(scale, 12)
    beyond = speaking_length(scale, compensation) - twelfth
    return over_plane + (over_plane - nut) * beyond / (twelfth - first)


def straightedge_implied(
    action: Number,
    nut: Number,
    relief: Number,
    showing: Number,
    scale: Number,
    compensation: Number = 0,
    arch: Number = 0,
) -> Number:
    """Where a straightedge on the frets meets the bridge: above its top positive, below negative.

    `arch` is what the middle of the board stands over the strings' own lines (0 where not known).
    Source: derived; holds to about 1/16 in.
    """
    return showing - height_over_plane_at_saddle(action, nut, relief, scale, compensation) + arch
