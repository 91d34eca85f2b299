"""How far rod and saddle reach: the action after the rod, the saddle that is left, the neck's angle."""

from __future__ import annotations

from fractions import Fraction

from intake.trade import neck
from intake.trade.checked import Number
from intake.trade.errors import TradeError
from intake.trade.named import named
from intake.trade.readings.targets import OVER, beyond, need_pitch, sides
from intake.trade.registry import reading

TRIANGLES = "derived, similar triangles"
FORECAST = "the forecast of rod_action_change"
RODLESS = named("rod", ("none", "fixed_bar"))


@reading(
    "rod_action_change",
    unit="in",
    resolution="0.0001",
    source="derived bend model, share 1.7; no outside source",
    low="-0.5",
    high="0.5",
)
def rod_action_change(
    relief: Fraction,
    relief_target: Fraction,
    rod: str | None = None,
    relief_without_rod: Fraction | None = None,
    strings_state: str | None = None,
    relief_share: Fraction | None = None,
) -> Number:
    """Forecast change of the 12th-fret action once the relief is at its target.

    0 where there is no rod to bring it there and the relief is one that such a neck may keep.
    """
    need_pitch(strings_state)
    if rod in RODLESS and relief_without_rod is not None and 0 <= relief <= relief_without_rod:
        return Fraction(0)
    share = neck.RELIEF_SHARE if relief_share is None else relief_share
    return neck.action_change_from_relief(relief, relief_target, share)


def _after(action: Fraction, relief_over: Fraction, change: Fraction) -> Fraction:
    """Relief is taken to its target only where it is outside its range (`relief_over` is not 0)."""
    return action + change if relief_over else action


@reading("action_bass_after", unit="in", resolution="0.0001", source=FORECAST, low="-0.5", high="1")
def action_bass_after(action_bass_12: Fraction, relief_over: Fraction, rod_action_change: Fraction) -> Number:
    """Bass action at the 12th once a relief outside its range is right."""
    return _after(action_bass_12, relief_over, rod_action_change)


@reading("action_treble_after", unit="in", resolution="0.0001", source=FORECAST, low="-0.5", high="1")
def action_treble_after(
    action_treble_12: Fraction, relief_over: Fraction, rod_action_change: Fraction
) -> Number:
    """Treble action at the 12th once a relief outside its range is right."""
    return _after(action_treble_12, relief_over, rod_action_change)


@reading("action_bass_over_after", unit="in", resolution="0.0001", source=OVER, low="-1", high="1")
def action_bass_over_after(
    action_bass_after: Fraction, action_bass_low: Fraction, action_bass_high: Fraction
) -> Fraction:
    """What the bass action stays above (below: negative) its range once the relief is right."""
    return beyond(action_bass_after, action_bass_low, action_bass_high)


@reading("action_treble_over_after", unit="in", resolution="0.0001", source=OVER, low="-1", high="1")
def action_treble_over_after(
    action_treble_after: Fraction, action_treble_low: Fraction, action_treble_high: Fraction
) -> Fraction:
    """What the treble action stays above (below: negative) its range once the relief is right."""
    return beyond(action_treble_after, action_treble_low, action_treble_high)


@reading("action_over_after", unit="in", resolution="0.0001", source=OVER, low="0", high="1")
def action_over_after(
    action_bass_over_after: Fraction | None = None, action_treble_over_after: Fraction | None = None
) -> Fraction:
    """What is left above the range once the relief is right; 0 where the bow explains all of it."""
    return max(*sides(action_bass_over_after, action_treble_over_after), Fraction(0))


@reading("action_under_after", unit="in", resolution="0.0001", source=OVER, low="-1", high="0")
def action_under_after(
    action_bass_over_after: Fraction | None = None, action_treble_over_after: Fraction | None = None
) -> Fraction:
    """What is left below the range once the relief is right, negative; 0 where the bow explains all of it."""
    return min(*sides(action_bass_over_after, action_treble_over_after), Fraction(0))


@reading("saddle_drop_bass", unit="in", resolution="0.0001", source=TRIANGLES, low="-1", high="2")
def saddle_drop_bass(
    action_bass_after: Fraction, action_target_bass: Fraction, saddle_ratio: Fraction
) -> Fraction:
    """What comes off the saddle for the wanted bass action; negative: it must rise."""
    return (action_bass_after - action_target_bass) * saddle_ratio


@reading("saddle_drop_treble", unit="in", resolution="0.0001", source=TRIANGLES, low="-1", high="2")
def saddle_drop_treble(
    action_treble_after: Fraction, action_target_treble: Fraction, saddle_ratio: Fraction
) -> Fraction:
    """What comes off the saddle for the wanted treble action; negative: it must rise."""
    return (action_treble_after - action_target_treble) * saddle_ratio


@reading("saddle_drop", unit="in", resolution="0.0001", source=TRIANGLES, low="-1", high="2")
def saddle_drop(
    saddle_drop_bass: Fraction | None = None, saddle_drop_treble: Fraction | None = None
) -> Fraction:
    """The larger of the two sides' drops; of the one measured where only one was."""
    return max(sides(saddle_drop_bass, saddle_drop_treble))


@reading("saddle_rise", unit="in", resolution="0.0001", source=TRIANGLES, low="0", high="1")
def saddle_rise(
    saddle_drop_bass: Fraction | None = None, saddle_drop_treble: Fraction | None = None
) -> Fraction:
    """The larger rise that a string wants; 0 where none does."""
    return max(-min(sides(saddle_drop_bass, saddle_drop_treble)), Fraction(0))


@reading("saddle_left", unit="in", resolution="0.0001", source=TRIANGLES, low="-1", high="1")
def saddle_left(saddle_showing: Fraction, saddle_drop: Fraction) -> Fraction:
    """What would still show of the saddle after the larger drop."""
    return saddle_showing - saddle_drop


@reading("saddle_left_at_top", unit="in", resolution="0.0001", source=TRIANGLES, low="-1", high="2")
def saddle_left_at_top(
    saddle_showing: Fraction,
    saddle_ratio: Fraction,
    action_bass_after: Fraction | None = None,
    action_bass_high: Fraction | None = None,
    action_treble_after: Fraction | None = None,
    action_treble_high: Fraction | None = None,
) -> Fraction:
    """What would still show with the strings let down only to the top of the wanted range."""
    pairs = ((action_bass_after, action_bass_high), (action_treble_after, action_treble_high))
    over = sides(*(value - top for value, top in pairs if value is not None and top is not None))
    return saddle_showing - max(over) * saddle_ratio


@reading("saddle_reserve", unit="in", resolution="0.0001", source="difference", low="-1", high="1")
def saddle_reserve(saddle_left: Fraction, saddle_least: Fraction) -> Fraction:
    """What the saddle, lowered to the middle of the range, shows above the least; negative: too little."""
    return saddle_left - saddle_least


@reading("saddle_reach", unit="in", resolution="0.0001", source="the doubt is the book's", low="-1", high="2")
def saddle_reach(
    saddle_left_at_top: Fraction, saddle_least: Fraction, saddle_doubt: Fraction | None = None
) -> Fraction:
    """Whether lowering reaches the top of the range: above 0 it does, below 0 it does not.

    0 where that hangs on less than a ruler can tell, the book's `saddle_doubt`.
    """
    doubt = saddle_doubt or Fraction(0)
    return beyond(saddle_left_at_top - saddle_least, -doubt, doubt)


@reading("saddle_reach_shop", unit="in", resolution="0.0001", source=TRIANGLES, low="-1", high="2")
def saddle_reach_shop(
    saddle_showing: Fraction,
    saddle_ratio: Fraction,
    saddle_least: Fraction,
    saddle_doubt: Fraction | None = None,
    book_action_bass_high: Fraction | None = None,
    book_action_treble_high: Fraction | None = None,
    action_bass_after: Fraction | None = None,
    action_bass_high: Fraction | None = None,
    action_treble_after: Fraction | None = None,
    action_treble_high: Fraction | None = None,
) -> Fraction:
    """The same for the shop's own range, where a player asks for something else."""
    if book_action_bass_high is None and book_action_treble_high is None:
        raise TradeError("this player asks for nothing else")
    bass = action_bass_high if book_action_bass_high is None else book_action_bass_high
    treble = action_treble_high if book_action_treble_high is None else book_action_treble_high
    left = saddle_left_at_top(
        saddle_showing, saddle_ratio, action_bass_after, bass, action_treble_after, treble
    )
    return saddle_reach(left, saddle_least, saddle_doubt)


@reading("saddle_spare", unit="in", resolution="0.0001", source="difference", low="-1", high="1")
def saddle_spare(saddle_showing: Fraction, saddle_least: Fraction) -> Fraction:
    """What the saddle shows above the least."""
    return saddle_showing - saddle_least


@reading("neck_angle_deficit", unit="in", resolution="0.0001", source=TRIANGLES, low="0", high="2")
def neck_angle_deficit(
    saddle_left: Fraction, saddle_wanted: Fraction, saddle_least: Fraction, saddle_reach: Fraction
) -> Number:
    """How far the fret plane must rise at the saddle; 0 where lowering reaches, or may reach, the range."""
    if saddle_reach >= 0:
        return Fraction(0)
    return neck.neck_angle_deficit(saddle_left, saddle_wanted, saddle_least)
