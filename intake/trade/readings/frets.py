"""Readings of fret wear."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from intake.trade import frets
from intake.trade.checked import Number
from intake.trade.registry import reading

PRACTICE = "common practice, no source"


def wear_of(fret_wear: Any) -> Mapping[int, Fraction]:
    """The answer as fret → depth; "none" is no wear at all."""
    return fret_wear if isinstance(fret_wear, Mapping) else {}


@reading("crown_left_by_fret", unit="in", resolution="0.0001", source=PRACTICE, low="0", high="0.1")
def crown_left_by_fret(
    crown_height: Fraction, fret_wear: Any, fret_count: Fraction | None = None
) -> dict[int, Number]:
    """Each fret's crown less its own wear, before levelling: fret → height."""
    return frets.crowns_left(crown_height, wear_of(fret_wear), frets.numbered(fret_count))


@reading("crown_left", unit="in", resolution="0.0001", source=PRACTICE, low="0", high="0.1")
def crown_left(crown_height: Fraction, fret_wear: Any) -> Number:
    """The crown that levelling to the deepest wear would leave, no allowance."""
    return frets.crown_after_levelling(crown_height, wear_of(fret_wear))


@reading("frets_below_limit", unit="", resolution="1", source=PRACTICE, low="0", high="36")
def frets_below_limit(
    crown_height: Fraction, fret_wear: Any, crown_limit: Fraction, fret_count: Fraction | None = None
) -> int:
    """How many frets stand under the book's limit before levelling."""
    count = None if fret_count is None else int(fret_count)
    return frets.frets_below(crown_height, wear_of(fret_wear), crown_limit, count)


@reading("deepest_wear", unit="in", resolution="0.0001", source="largest of the answers", low="0", high="0.1")
def deepest_wear(fret_wear: Any) -> Fraction:
    """The deepest groove or flat; 0 without any."""
    return max(wear_of(fret_wear).values(), default=Fraction(0))


@reading("frets_worn", unit="", resolution="1", source=PRACTICE, low="0", high="36")
def frets_worn(fret_wear: Any, worn_from: Fraction | None = None) -> int:
    """How many frets are worn by more than the book's `worn_from`, else .002 in."""
    return len(frets.worn_frets(wear_of(fret_wear), frets.WORN if worn_from is None else worn_from))


@reading("frets_worn_share", unit="%", resolution="0.1", source="arithmetic", low="0", high="100")
def frets_worn_share(frets_worn: Fraction, fret_count: Fraction) -> Fraction:
    """Worn frets as a share of all frets."""
    return 100 * frets_worn / fret_count


@reading("spot_level_serves", unit="", resolution="1", source=PRACTICE, low="0", high="1")
def spot_level_serves(
    crown_height: Fraction,
    fret_wear: Any,
    crown_limit: Fraction,
    spot_frets: Fraction | None = None,
    spot_depth: Fraction | None = None,
    worn_from: Fraction | None = None,
) -> int:
    """1 where dressing one to three frets alone is enough, else 0; the book says how many and deep."""
    serves = frets.spot_level_serves(
        crown_height,
        wear_of(fret_wear),
        crown_limit,
        frets.SPOT_FRETS if spot_frets is None else spot_frets,
        frets.SPOT_DEPTH if spot_depth is None else spot_depth,
        frets.WORN if worn_from is None else worn_from,
    )
    return int(serves)
