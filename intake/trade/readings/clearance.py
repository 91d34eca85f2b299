"""Readings of buzz: the least margin between a swinging string and the frets, and where it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import wraps
from inspect import Parameter, signature
from typing import Any

from intake.trade import buzz
from intake.trade.checked import Number
from intake.trade.errors import TradeError
from intake.trade.readings.frets import wear_of
from intake.trade.readings.targets import need_pitch
from intake.trade.registry import reading

Rows = Sequence[Mapping[str, str]]
RULE = "derived from the ideal string; no source for the swings"


def _floats(by_fret: Mapping[int, Fraction]) -> dict[int, float]:
    return {fret: float(depth) for fret, depth in by_fret.items()}


def _own(family: str | None, table: Rows | None) -> Mapping[str, str]:
    """The family's row of families.csv, or an empty one."""
    return next((row for row in table or () if row["family"] == family), {})


def _swings(
    attack: str,
    count: int,
    tension: tuple[Fraction, ...] | None,
    own: Mapping[str, str],
    swings: Mapping[str, Fraction],
    bounds: tuple[Number, Number],
) -> list[float]:
    usual = own.get("string_tension")
    if tension is None or not usual:
        return [buzz.swing_for(attack, swings=swings)] * count
    return [buzz.swing_for(attack, string, float(usual), swings, bounds) for string in tension[:count]]


def _join(join_fret: Fraction | None, default_join_fret: Fraction | None) -> int:
    fret = join_fret if join_fret is not None else default_join_fret
    return 14 if fret is None else int(fret)


def _strings(string_count: Fraction, own: Mapping[str, str]) -> int:
    """Strings that start at the nut: the short fifth of a banjo, its last one, does not."""
    count = int(string_count)
    return count - 1 if own.get("short_string") == str(count) else count


@dataclass(frozen=True)
class Strung:
    """A strung neck: heights over frets 12 and 1 and swings, string by string, first string first; inches."""

    board: buzz.Board
    actions: list[float]
    nuts: list[float]
    swings: list[float]

    def over(self, place: str) -> list[buzz.Over]:
        """A string held somewhere ("string/fret") over every fret ahead."""
        string, fret = (int(part) for part in place.split("/"))
        at = string - 1
        return buzz.profile(self.board, self.actions[at], self.nuts[at], self.swings[at], fret)


def strung(
    action_bass_12: Fraction,
    action_treble_12: Fraction,
    nut_bass_1: Fraction,
    nut_treble_1: Fraction,
    relief: Fraction,
    scale_used: Fraction,
    speaking_length: Fraction,
    string_count: Fraction,
    fret_count: Fraction,
    attack: str,
    fret_wear: Any = None,
    body_hump: Fraction | None = None,
    join_fret: Fraction | None = None,
    default_join_fret: Fraction | None = None,
    string_tension: tuple[Fraction, ...] | None = None,
    family: str | None = None,
    strings_state: str | None = None,
    families_table: Rows | None = None,
    swing_light: Fraction | None = None,
    swing_medium: Fraction | None = None,
    swing_firm: Fraction | None = None,
    stiff_swing_least: Fraction | None = None,
    slack_swing_most: Fraction | None = None,
) -> Strung:
    """The strung neck of these answers. Raises TradeError for nonsense and for strings not at pitch."""
    need_pitch(strings_state)
    join = _join(join_fret, default_join_fret)
    board = buzz.Board(
        scale=float(scale_used),
        fret_count=int(fret_count),
        relief=float(relief),
        join_fret=join,
        compensation=float(speaking_length - scale_used),
        wear=_floats(wear_of(fret_wear)),
        bumps={join: float(body_hump or 0)},
    )
    own = _own(family, families_table)
    swings = {"light": swing_light, "medium": swing_medium, "firm": swing_firm}
    known = {attack: swing for attack, swing in swings.items() if swing is not None}
    count = _strings(string_count, own)
    least, most = buzz.TENSION_COUNTS
    bounds = (stiff_swing_least or least, slack_swing_most or most)
    return Strung(
        board,
        [float(height) for height in buzz.across(action_bass_12, action_treble_12, count)],
        [float(height) for height in buzz.across(nut_bass_1, nut_treble_1, count)],
        _swings(attack, count, string_tension, own, known, bounds),
    )


def strung_from(facts: Mapping[str, Any]) -> Strung | None:
    """The strung neck of an assessment's facts; None where something is missing or nonsense."""
    needed = signature(strung).parameters
    given = {name: facts[name] for name in needed if facts.get(name) is not None}
    if any(each.default is Parameter.empty and name not in given for name, each in needed.items()):
        return None
    try:
        return strung(**given)
    except TradeError:
        return None


@reading("buzz_by_string", unit="in", resolution="0.0001", source=RULE, low="-0.5", high="0.5")
@wraps(strung, assigned=())
def buzz_by_string(**given: Any) -> dict[str, float]:
    """The tightest place of each string ("string/fret" held, 0 open) and its margin.

    The margin is the least clearance over the frets ahead, less the string's swing for this attack.
    """
    neck = strung(**given)
    tight = buzz.tightest_of_each(neck.board, neck.actions, neck.nuts, neck.swings)
    return {each.place: each.margin for each in tight}


@reading("buzz_margin", unit="in", resolution="0.0001", source=RULE, low="-0.5", high="0.5")
def buzz_margin(buzz_by_string: Mapping[str, Fraction]) -> Fraction:
    """Least clearance of any string at any fret over the frets ahead, less its swing for this attack."""
    return min(buzz_by_string.values())


@reading("buzz_margin_at", unit="string/fret", resolution="1", source=RULE)
def buzz_margin_at(buzz_by_string: Mapping[str, Fraction]) -> str:
    """Where that is: string and fret held, 0 the open string."""
    return min(buzz_by_string, key=lambda place: buzz_by_string[place])
