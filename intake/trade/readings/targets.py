"""What this player's instrument should measure, and how far it is from that."""

from __future__ import annotations

from fractions import Fraction

from intake.trade.errors import TradeError
from intake.trade.named import named
from intake.trade.registry import reading

MIDDLE = "middle of the book's range"
OVER = "arithmetic on the book's range"
NOT_AT_PITCH = named("strings_state", ("slack", "some_missing", "none"))


def need_pitch(strings_state: str | None) -> None:
    """Action, relief and straightedge mean nothing on slack strings."""
    if strings_state in NOT_AT_PITCH:
        raise TradeError("the strings are not at pitch")


def middle(low: Fraction, high: Fraction) -> Fraction:
    if low > high:
        raise TradeError("the range is upside down")
    return (low + high) / 2


def beyond(value: Fraction, low: Fraction, high: Fraction) -> Fraction:
    """0 inside low..high, positive above it, negative below it."""
    return max(value - high, Fraction(0)) + min(value - low, Fraction(0))


@reading("action_target_bass", unit="in", resolution="0.0001", source=MIDDLE, low="0", high="0.5")
def action_target_bass(action_bass_low: Fraction, action_bass_high: Fraction) -> Fraction:
    """Wanted action at the 12th fret, bass side."""
    return middle(action_bass_low, action_bass_high)


@reading("action_target_treble", unit="in", resolution="0.0001", source=MIDDLE, low="0", high="0.5")
def action_target_treble(action_treble_low: Fraction, action_treble_high: Fraction) -> Fraction:
    """Wanted action at the 12th fret, treble side."""
    return middle(action_treble_low, action_treble_high)


@reading("action_shop_bass", unit="in", resolution="0.0001", source=MIDDLE, low="0", high="0.5")
def action_shop_bass(book_action_bass_low: Fraction, book_action_bass_high: Fraction) -> Fraction:
    """The shop's own middle ground on the bass side, where a player asks for something else."""
    return middle(book_action_bass_low, book_action_bass_high)


@reading("action_shop_treble", unit="in", resolution="0.0001", source=MIDDLE, low="0", high="0.5")
def action_shop_treble(book_action_treble_low: Fraction, book_action_treble_high: Fraction) -> Fraction:
    """The shop's own middle ground on the treble side, where a player asks for something else."""
    return middle(book_action_treble_low, book_action_treble_high)


@reading("relief_target", unit="in", resolution="0.0001", source=MIDDLE, low="0", high="0.05")
def relief_target(relief_low: Fraction, relief_high: Fraction) -> Fraction:
    """Wanted relief at the 7th or 8th fret."""
    return middle(relief_low, relief_high)


@reading("nut_target_bass", unit="in", resolution="0.0001", source=MIDDLE, low="0", high="0.2")
def nut_target_bass(nut_bass_low: Fraction, nut_bass_high: Fraction) -> Fraction:
    """Wanted height over the 1st fret, bass side."""
    return middle(nut_bass_low, nut_bass_high)


@reading("nut_target_treble", unit="in", resolution="0.0001", source=MIDDLE, low="0", high="0.2")
def nut_target_treble(nut_treble_low: Fraction, nut_treble_high: Fraction) -> Fraction:
    """Wanted height over the 1st fret, treble side."""
    return middle(nut_treble_low, nut_treble_high)


@reading("action_bass_over", unit="in", resolution="0.0001", source=OVER, low="-0.5", high="1")
def action_bass_over(
    action_bass_12: Fraction,
    action_bass_low: Fraction,
    action_bass_high: Fraction,
    strings_state: str | None = None,
) -> Fraction:
    """Bass action above (positive) or below (negative) its target range; 0 inside."""
    need_pitch(strings_state)
    return beyond(action_bass_12, action_bass_low, action_bass_high)


@reading("action_treble_over", unit="in", resolution="0.0001", source=OVER, low="-0.5", high="1")
def action_treble_over(
    action_treble_12: Fraction,
    action_treble_low: Fraction,
    action_treble_high: Fraction,
    strings_state: str | None = None,
) -> Fraction:
    """Treble action above (positive) or below (negative) its target range; 0 inside."""
    need_pitch(strings_state)
    return beyond(action_treble_12, action_treble_low, action_treble_high)


def sides(*values: Fraction | None) -> list[Fraction]:
    known = [value for value in values if value is not None]
    if not known:
        raise TradeError("neither side was measured")
    return known


@reading("action_over", unit="in", resolution="0.0001", source=OVER, low="0", high="1")
def action_over(
    action_bass_over: Fraction | None = None, action_treble_over: Fraction | None = None
) -> Fraction:
    """The action's worst height above its range over the sides measured; 0 if none is above."""
    return max(*sides(action_bass_over, action_treble_over), Fraction(0))


@reading("action_under", unit="in", resolution="0.0001", source=OVER, low="-0.5", high="0")
def action_under(
    action_bass_over: Fraction | None = None, action_treble_over: Fraction | None = None
) -> Fraction:
    """The action's worst depth below its range over the sides measured, negative; 0 if none is below."""
    return min(*sides(action_bass_over, action_treble_over), Fraction(0))


@reading("relief_over", unit="in", resolution="0.0001", source=OVER, low="-0.2", high="0.3")
def relief_over(
    relief: Fraction, relief_low: Fraction, relief_high: Fraction, strings_state: str | None = None
) -> Fraction:
    """Relief above (positive) or below (negative) its target range; 0 inside."""
    need_pitch(strings_state)
    return beyond(relief, relief_low, relief_high)


@reading("back_bow", unit="in", resolution="0.0001", source="sign of the relief", low="0", high="0.2")
def back_bow(relief: Fraction, strings_state: str | None = None) -> Fraction:
    """How far the neck bows backward; 0 where it does not."""
    need_pitch(strings_state)
    return max(-relief, Fraction(0))


@reading("nut_bass_over", unit="in", resolution="0.0001", source=OVER, low="-0.2", high="0.3")
def nut_bass_over(nut_bass_1: Fraction, nut_bass_low: Fraction, nut_bass_high: Fraction) -> Fraction:
    """Bass height at the 1st fret above (positive) or below (negative) its range; 0 inside."""
    return beyond(nut_bass_1, nut_bass_low, nut_bass_high)


@reading("nut_treble_over", unit="in", resolution="0.0001", source=OVER, low="-0.2", high="0.3")
def nut_treble_over(nut_treble_1: Fraction, nut_treble_low: Fraction, nut_treble_high: Fraction) -> Fraction:
    """Treble height at the 1st fret above (positive) or below (negative) its range; 0 inside."""
    return beyond(nut_treble_1, nut_treble_low, nut_treble_high)


@reading("nut_over", unit="in", resolution="0.0001", source=OVER, low="0", high="0.3")
def nut_over(nut_bass_over: Fraction | None = None, nut_treble_over: Fraction | None = None) -> Fraction:
    """The nut's worst height above its range over the sides measured; 0 if none is above."""
    return max(*sides(nut_bass_over, nut_treble_over), Fraction(0))


@reading("nut_under", unit="in", resolution="0.0001", source=OVER, low="-0.2", high="0")
def nut_under(nut_bass_over: Fraction | None = None, nut_treble_over: Fraction | None = None) -> Fraction:
    """The nut's worst depth below its range over the sides measured, negative; 0 if none is below."""
    return min(*sides(nut_bass_over, nut_treble_over), Fraction(0))
