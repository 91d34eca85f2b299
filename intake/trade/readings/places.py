"""Readings of the places where it buzzes."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from intake.trade import places
from intake.trade.registry import reading


@reading("buzz_places", unit="", resolution="1", source="answers, place by place")
def buzz_places(
    buzz_at: tuple[str, ...],
    string_count: Fraction | None = None,
    default_string_count: Fraction | None = None,
    fret_wear: Mapping[int, Fraction] | None = None,
    loose_frets: tuple[int, ...] = (),
    nut_bass_over: Fraction | None = None,
    nut_treble_over: Fraction | None = None,
) -> tuple[dict[str, Any], ...]:
    """Each place of buzz with the wear, the loose frets and the nut's error that belong to it."""
    count = int(string_count or default_string_count or 6)
    wear = fret_wear if isinstance(fret_wear, Mapping) else None
    loose = [fret for fret in loose_frets if not isinstance(fret, str)]
    nut = (nut_bass_over, nut_treble_over)
    return tuple(places.buzz_places([at for at in buzz_at if at != "none"], count, wear, loose, nut))


@reading("buzz_place_count", unit="count", resolution="1", source="counted", low="0", high="200")
def buzz_place_count(buzz_places: tuple[dict[str, Any], ...]) -> Fraction:
    """At how many places it buzzes."""
    return Fraction(len(buzz_places))


@reading("buzz_string_count", unit="count", resolution="1", source="counted", low="0", high="12")
def buzz_string_count(buzz_places: tuple[dict[str, Any], ...]) -> Fraction:
    """On how many strings it buzzes."""
    return Fraction(len({place["string"] for place in buzz_places}))
