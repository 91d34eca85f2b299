"""Readings that count what was found: loose braces, loose frets, strings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from intake.trade.named import named
from intake.trade.registry import reading

BRACES, LOOSE = named("pins.kind", ("brace",)), named("pins.state", ("loose",))


@reading("loose_braces", unit="count", resolution="1", source="count of the answers", low="0", high="40")
def loose_braces(pins: Sequence[Any]) -> int:
    """How many braces are loose, over all places; 0 without any."""
    marked = (pin for pin in pins if isinstance(pin, Mapping))
    return sum(pin["count"] for pin in marked if pin["kind"] in BRACES and pin.get("state") in LOOSE)


@reading("loose_fret_count", unit="count", resolution="1", source="count of the answers", low="0", high="36")
def loose_fret_count(loose_frets: Sequence[Any]) -> int:
    """How many frets are loose; 0 if none is."""
    return sum(fret != "none" for fret in loose_frets)


@reading("strings_counted", unit="count", resolution="1", source="count of the answers", low="1", high="24")
def strings_counted(
    string_count: Fraction | None = None, default_string_count: Fraction | None = None
) -> Fraction | None:
    """How many strings it has, or what its family usually has where nobody counted: a set has a price."""
    return default_string_count if string_count is None else string_count
