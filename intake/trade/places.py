"""Where it buzzes, place by place, with what stands at that place."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from intake.trade.errors import TradeError

Depths = Mapping[int, Fraction]


def buzz_places(
    buzz_at: Sequence[str],
    string_count: int,
    fret_wear: Depths | None,
    loose_frets: Collection[int],
    nut_over: tuple[Fraction | None, Fraction | None],
) -> Iterator[dict[str, Any]]:
    """One table for each place: string, fret, `worn` and `next_worn`, `loose`, and the nut's error there.

    `nut_over` is that of bass and treble, outside its range; the string takes the nearer side's. What was
    not measured is left out. TradeError for a place that is not a string and a fret.
    """
    for written in buzz_at:
        string, fret = _pair(written)
        place: dict[str, Any] = {"place": written, "string": Fraction(string), "fret": Fraction(fret)}
        if fret_wear is not None and fret:
            place["worn"] = fret_wear.get(fret, Fraction(0))
            place["next_worn"] = fret_wear.get(fret + 1, Fraction(0))
        place["loose"] = Fraction(sum(near in loose_frets for near in (fret, fret + 1)) if fret else 0)
        over = nut_over[0 if 2 * string > string_count else 1]
        if over is not None:
            place["nut_here"] = over
        yield place


def _pair(written: str) -> tuple[int, int]:
    string, _, fret = written.partition("/")
    if not (string.isdigit() and fret.isdigit()):
        raise TradeError(f"{written} is not a string and a fret")
    return int(string), int(fret)
