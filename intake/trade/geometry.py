"""Arcs and arches: plane geometry, lengths in one unit of the caller's choice."""

from __future__ import annotations

import math
from collections.abc import Sequence

from intake.trade.checked import Number, positive, within
from intake.trade.errors import TradeError


def drop_from_centre(radius: Number, offset: Number) -> float:
    """How far an arc of `radius` has fallen at `offset` from its middle: R − √(R² − z²).

    Any one unit; |offset| ≤ radius, else TradeError. Source: plane geometry.
    """
    positive(radius, "the radius")
    within(offset, -radius, radius, "the offset")
    r, z = float(radius), float(offset)
    return z * z / (r + math.sqrt(max(0.0, r * r - z * z)))


def sagitta(radius: Number, width: Number) -> float:
    """Rise of an arc of `radius` over a chord of `width`; width ≤ 2 radius, else TradeError.

    Source: plane geometry.
    """
    return drop_from_centre(radius, width / 2)


def radius_from_rise(rise: Number, width: Number) -> Number:
    """Radius of the arc that rises by `rise` over a chord of `width`: s/2 + w²/(8s). Exact.

    Both above zero, else TradeError. Source: plane geometry.
    """
    positive(rise, "the rise")
    positive(width, "the width")
    return rise / 2 + width * width / (8 * rise)


def saddle_profile(
    actions: Sequence[Number], offsets: Sequence[Number], radius: Number, ratio: Number
) -> tuple[float, ...]:
    """Saddle heights above the outer strings' fret plane that give each string its 12th-fret action.

    `actions` and `offsets` from the board's centre string by string, in the unit of `radius`;
    `ratio` saddle height per height at the 12th fret. The first string is an outer one.
    Raises TradeError for lists of different length or an offset beyond the radius.
    Source: derived from the arc of the board; no outside source.
    """
    if len(actions) != len(offsets) or not actions:
        raise TradeError("each string needs one action and one offset")
    outer = drop_from_centre(radius, offsets[0])
    return tuple(
        float(ratio * action) + outer - drop_from_centre(radius, offset)
        for action, offset in zip(actions, offsets, strict=True)
    )
