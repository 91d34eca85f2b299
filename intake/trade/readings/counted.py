"""Readings that count what was found, and say by how much two measures disagree too far."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from intake.trade.registry import reading


@reading(
    "straightedge_excess",
    unit="in",
    resolution="0.0001",
    source="difference",
    low="0",
    high="2",
)
def straightedge_excess(straightedge_disagreement: Fraction, straightedge_margin: Fraction) -> Fraction:
    """How far the straightedge's disagreement goes beyond its margin; 0 within it."""
    return max(straightedge_disagreement - straightedge_margin, Fraction(0))


@reading("loose_braces", unit="", resolution="1", source="count of the answers", low="0", high="40")
def loose_braces(pins: Sequence[Any]) -> int:
    """How many braces are loose, over all places; 0 without any."""
    marked = (pin for pin in pins if isinstance(pin, Mapping))
    return sum(pin["count"] for pin in marked if pin["kind"] == "brace" and pin.get("state") == "loose")
