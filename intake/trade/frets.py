"""Frets: where they stand, and what is left of them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import lru_cache

from intake.trade.checked import Number, not_negative, positive, within
from intake.trade.errors import TradeError

MOST_FRETS = 48
WORN = Fraction(2, 1000)
"""A groove deeper than this counts as wear; common practice, no source."""
SPOT_FRETS = 3
"""A spot level takes one to three frets; common practice, no source."""
SPOT_DEPTH = Fraction(4, 1000)
"""What a fret may stand under its neighbours without choking; common practice, no source."""


@lru_cache(maxsize=2048, typed=True)
def fret_position(scale: Number, fret: int) -> Number:
    """Nut to fret in twelve-tone equal temperament: L(1 − 2^(−n/12)), in the unit of `scale`.

    Exact at the octaves (fret 12 is L/2). 0 ≤ fret ≤ 48, scale above zero, else TradeError.
    Source: G. Byers, American Lutherie 47, 1996 (power law and 17.817).
    """
    positive(scale, "the scale length")
    within(fret, 0, MOST_FRETS, "the fret")
    octaves, rest = divmod(int(fret), 12)
    if rest == 0:
        return scale * (1 - Fraction(1, 2**octaves))
    return float(scale) * (1 - 2 ** (-fret / 12))


def rule_of_18_position(scale: Number, fret: int) -> Number:
    """Nut to fret by the old rule of 18: L(1 − (17/18)^n). Exact.

    0 ≤ fret ≤ 48, else TradeError. Source: historical rule, V. Galilei, 16th century (from memory).
    """
    positive(scale, "the scale length")
    within(fret, 0, MOST_FRETS, "the fret")
    return scale * (1 - Fraction(17, 18) ** int(fret))


def cents_between(length: Number, other: Number) -> float:
    """Pitch of a string stopped to `other` above one stopped to `length`, in cents.

    Both above zero, else TradeError. Source: definition of the cent, 1200 log₂ of the ratio.
    """
    positive(length, "the length")
    positive(other, "the length")
    return 1200 * math.log2(float(length / other))


def numbered(fret_count: Number | None) -> range:
    """The frets of a neck by number, none where the count is not known. TradeError above MOST_FRETS."""
    count = fret_count or 0
    within(count, 0, MOST_FRETS, "the number of frets")
    return range(1, int(count) + 1)


def crowns_left(crown: Number, wear: Mapping[int, Number], frets: Iterable[int] = ()) -> dict[int, Number]:
    """Each fret's crown less its own wear, before levelling: fret → height, frets ascending.

    `crown` is that of the least-worn fret; frets not in `wear` keep it. One unit.
    TradeError where a groove is deeper than the fret is tall, or a depth is negative.
    """
    positive(crown, "the crown")
    left = {}
    for fret in sorted({*frets, *wear}):
        depth = wear.get(fret, Fraction(0))
        not_negative(depth, "wear")
        if depth > crown:
            raise TradeError(f"fret {fret} is worn deeper than it is tall")
        left[fret] = crown - depth
    return left


def crown_after_levelling(crown: Number, wear: Mapping[int, Number]) -> Number:
    """The crown that levelling to the deepest groove leaves on every fret, no allowance.

    Errors as `crowns_left`. Source: common practice, no source.
    """
    return min(crowns_left(crown, wear).values(), default=crown)


def frets_below(
    crown: Number, wear: Mapping[int, Number], limit: Number, fret_count: int | None = None
) -> int:
    """How many frets stand under `limit` before levelling.

    Without `fret_count` only worn frets are counted; TradeError if unworn ones would count too.
    """
    if crown < limit and fret_count is None:
        raise TradeError("how many frets there are is not known")
    return sum(left < limit for left in crowns_left(crown, wear, numbered(fret_count)).values())


def worn_frets(wear: Mapping[int, Number], more_than: Number = WORN) -> tuple[int, ...]:
    """Frets worn deeper than `more_than`, ascending."""
    return tuple(sorted(fret for fret, depth in wear.items() if depth > more_than))


def spot_level_serves(
    crown: Number,
    wear: Mapping[int, Number],
    limit: Number,
    most_frets: Number = SPOT_FRETS,
    most_depth: Number = SPOT_DEPTH,
    worn_from: Number = WORN,
) -> bool:
    """Whether dressing one to three frets alone is enough.

    So if no more are worn, none is dressed further under its neighbours than a string clears, and
    each keeps the limit. Errors as `crowns_left`. Source: common practice, no source.
    """
    worn = worn_frets(wear, worn_from)
    if not 1 <= len(worn) <= most_frets:
        return False
    return max(wear[fret] for fret in worn) <= most_depth and crown_after_levelling(crown, wear) >= limit
