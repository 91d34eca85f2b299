"""Readings of scale, heel and straightedge."""

from __future__ import annotations

from fractions import Fraction

from intake.trade import neck
from intake.trade.checked import Number
from intake.trade.errors import TradeError
from intake.trade.geometry import drop_from_centre
from intake.trade.readings.targets import need_pitch, sides
from intake.trade.registry import reading

TRIANGLES = "derived, similar triangles"


@reading("scale_used", unit="in", resolution="0.0001", source="answer, else the book", low="5", high="50")
def scale_used(
    scale_length: Fraction | None = None, default_scale_length: Fraction | None = None
) -> Fraction | None:
    """Scale length as measured, else the book's default for the family."""
    return scale_length if scale_length is not None else default_scale_length


@reading("speaking_length", unit="in", resolution="0.0001", source="L + c", low="5", high="50")
def speaking_length(scale_used: Fraction, default_compensation: Fraction | None = None) -> Number:
    """Nut to saddle: scale length and the book's compensation (0 without one)."""
    return neck.speaking_length(scale_used, default_compensation or Fraction(0))


@reading("saddle_ratio", unit="", resolution="0.0001", source=TRIANGLES, low="1.9", high="2.2")
def saddle_ratio(scale_used: Fraction, speaking_length: Fraction) -> Number:
    """Saddle height per height at the 12th fret, 2(1 + c/L)."""
    return neck.saddle_ratio(scale_used, speaking_length - scale_used)


@reading("joint_to_saddle", unit="in", resolution="0.0001", source="equal temperament", low="2", high="30")
def joint_to_saddle(
    scale_used: Fraction,
    speaking_length: Fraction,
    join_fret: Fraction | None = None,
    default_join_fret: Fraction | None = None,
) -> Number:
    """Body joint to saddle, from the fret at the joint (the book's where not counted)."""
    fret = join_fret if join_fret is not None else default_join_fret
    if fret is None:
        raise TradeError("the fret at the body join is not known")
    return neck.joint_to_saddle(scale_used, speaking_length - scale_used, int(fret))


@reading("heel_wedge", unit="in", resolution="0.0001", source=TRIANGLES, low="0", high="1")
def heel_wedge(
    neck_angle_deficit: Fraction,
    joint_to_saddle: Fraction | None = None,
    heel_depth: Fraction | None = None,
    default_heel_depth: Fraction | None = None,
) -> Number:
    """What comes off at the heel cap in a reset; 0 without a deficit."""
    if neck_angle_deficit == 0:
        return Fraction(0)
    depth = heel_depth if heel_depth is not None else default_heel_depth
    if depth is None or joint_to_saddle is None:
        raise TradeError("heel depth and joint are not known")
    return neck.heel_wedge(neck_angle_deficit, depth, joint_to_saddle)


@reading("neck_angle_change", unit="deg", resolution="0.01", source=TRIANGLES, low="0", high="10")
def neck_angle_change(neck_angle_deficit: Fraction, joint_to_saddle: Fraction) -> float:
    """The angle by which the neck is tipped back; 0 without a deficit."""
    return neck.neck_angle_change(neck_angle_deficit, joint_to_saddle)


def _mean(*values: Fraction | None) -> Fraction:
    known = sides(*values)
    return sum(known, Fraction(0)) / len(known)


def _arch(radius: Fraction, spread: Fraction) -> float:
    """What the middle of the board stands above the outer strings; a radius of 0 is a flat board."""
    return drop_from_centre(radius, spread / 2) if radius else 0.0


@reading(
    "straightedge_expected",
    unit="in",
    resolution="0.0001",
    source="derived, similar triangles; holds to about 1/16 in",
    low="-1",
    high="1",
)
def straightedge_expected(
    relief: Fraction,
    saddle_showing: Fraction,
    scale_used: Fraction,
    speaking_length: Fraction,
    action_bass_12: Fraction | None = None,
    action_treble_12: Fraction | None = None,
    nut_bass_1: Fraction | None = None,
    nut_treble_1: Fraction | None = None,
    board_radius: Fraction | None = None,
    default_spread: Fraction | None = None,
    strings_state: str | None = None,
) -> Number:
    """The straightedge reading, above the bridge top positive, that the other measures imply.

    Along the centre: the mean of the sides where both were measured, raised by the board's arch
    where its radius is known (0 is a flat board).
    """
    need_pitch(strings_state)
    return neck.straightedge_implied(
        _mean(action_bass_12, action_treble_12),
        _mean(nut_bass_1, nut_treble_1),
        relief,
        saddle_showing,
        scale_used,
        speaking_length - scale_used,
        _arch(board_radius, default_spread or neck.USUAL_SPREAD) if board_radius else 0,
    )


@reading(
    "straightedge_disagreement",
    unit="in",
    resolution="0.0001",
    source="difference",
    low="0",
    high="2",
)
def straightedge_disagreement(straightedge_expected: Fraction, straightedge_at_bridge: Fraction) -> Fraction:
    """How far expected and measured straightedge lie apart."""
    return abs(straightedge_expected - straightedge_at_bridge)


@reading(
    "straightedge_margin",
    unit="in",
    resolution="0.0001",
    source="common practice, no source; the arch is plane geometry",
    low="0.0625",
    high="0.25",
)
def straightedge_margin(
    straightedge_expected: Fraction,
    straightedge_at_bridge: Fraction,
    board_radius: Fraction | None = None,
    default_board_radius: Fraction | None = None,
    default_spread: Fraction | None = None,
    straightedge_allowance: Fraction | None = None,
) -> Number:
    """How far they may lie apart before somebody should measure again: the book's allowance, else 1/16 in.

    Where the radius was not measured and the edge lies higher than expected, wider by the arch of
    the book's board, else of a tight one: an arched board carries the edge higher, never lower.
    """
    allowance = neck.STRAIGHTEDGE_MARGIN if straightedge_allowance is None else straightedge_allowance
    if board_radius is not None or straightedge_at_bridge <= straightedge_expected:
        return allowance
    radius = default_board_radius if default_board_radius is not None else neck.TIGHT_RADIUS
    return float(allowance) + _arch(radius, default_spread or neck.USUAL_SPREAD)


@reading("straightedge_beyond", unit="in", resolution="0.0001", source="difference", low="0", high="2")
def straightedge_beyond(straightedge_disagreement: Fraction, straightedge_margin: Fraction) -> Fraction:
    """How far the disagreement goes past its margin: above 0, measure again."""
    return max(straightedge_disagreement - straightedge_margin, Fraction(0))
