"""Whether a string clears the frets ahead of the one it is held to. Lengths in inches.

Heights are over the chord through the tops of fret 1 and the fret at the body join, positive toward
the strings. The rule is derived from the geometry of the string; it explains and ranks, it promises
nothing, for the swing of a string is a guess for each attack.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from intake.trade.checked import Number, not_negative, positive, within
from intake.trade.errors import TradeError
from intake.trade.frets import fret_position
from intake.trade.named import named
from intake.trade.neck import relief_at, speaking_length

SWING = {"light": 0.025, "medium": 0.040, "firm": 0.060}
"""Peak swing at mid-string by attack, full length, in inches, where the book does not say; no source."""
ATTACKS = named("attack", SWING)
TENSION_COUNTS = (0.6, 1.6)
"""Bounds on how much a stiff or slack string changes the swing where the book does not say; no source."""


@dataclass(frozen=True)
class Board:
    """Frets of one neck: `wear` and `bumps` by fret (worn down, standing proud), relief to `join_fret`."""

    scale: float
    fret_count: int
    relief: float = 0.0
    join_fret: int = 14
    compensation: float = 0.0
    wear: Mapping[int, float] = field(default_factory=dict)
    bumps: Mapping[int, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        positive(self.scale, "the scale length")
        within(self.fret_count, 2, 48, "the number of frets")
        within(self.join_fret, 2, 48, "the fret at the body join")
        within(self.relief, -self.scale / 50, self.scale / 50, "the relief")
        for depth in self.wear.values():
            not_negative(depth, "wear")

    @cached_property
    def saddle(self) -> float:
        """Nut to saddle."""
        return float(speaking_length(self.scale, self.compensation))

    def x(self, fret: int) -> float:
        """Nut to fret."""
        if fret not in self._places:
            self._places[fret] = float(fret_position(self.scale, fret))
        return self._places[fret]

    def top(self, fret: int) -> float:
        """Height of a fret's top."""
        if fret not in self._tops:
            self._tops[fret] = self._height(fret)
        return self._tops[fret]

    def shape(self, fret: int) -> list[float]:
        """How far a string held at `fret` (0 open) reaches toward each fret ahead, for a swing of one."""
        if fret not in self._shapes:
            start = self.x(fret) if fret else 0.0
            length, ahead = self.saddle - start, range(fret + 1, self.fret_count + 1)
            self._shapes[fret] = [swing_envelope(self.x(over) - start, length, 1.0) for over in ahead]
        return self._shapes[fret]

    @cached_property
    def _shapes(self) -> dict[int, list[float]]:
        return {}

    @cached_property
    def _places(self) -> dict[int, float]:
        return {}

    @cached_property
    def _tops(self) -> dict[int, float]:
        return {}

    def _height(self, fret: int) -> float:
        low = relief_at(self.x(fret), self.relief, self.x(1), self.x(self.join_fret))
        return self.bumps.get(fret, 0.0) - float(low) - self.wear.get(fret, 0.0)


@dataclass(frozen=True)
class Tight:
    """The least margin of a string: held at `fret` (0 open), it comes nearest over the fret `over`."""

    margin: float
    clearance: float
    fret: int
    over: int
    string: int = 1

    @property
    def place(self) -> str:
        """As people write it: string/fret."""
        return f"{self.string}/{self.fret}"


def open_string(board: Board, action: Number, nut: Number) -> tuple[float, float]:
    """Height of the open string at nut and saddle, from its heights over frets 12 and 1."""
    first, twelfth = board.x(1), board.x(12)
    at_first, at_twelfth = float(nut) + board.top(1), float(action) + board.top(12)
    slope = (at_twelfth - at_first) / (twelfth - first)
    return at_first - slope * first, at_first + slope * (board.saddle - first)


def swing_envelope(z: float, length: float, swing: float) -> float:
    """Reach of the fundamental alone at `z` from the held end: A sin(πz/ℓ).

    Source: ideal string, Fletcher and Rossing, The Physics of Musical Instruments.
    """
    return swing * math.sin(math.pi * z / length)


def pluck_envelope(z: float, length: float, pull: float, from_saddle: float) -> float:
    """Reach toward the frets of a string pulled up by `pull` at `from_saddle` and let go.

    The motion fills a parallelogram. 0 < from_saddle < length, else TradeError.
    Source: ideal plucked string, Fletcher and Rossing.
    """
    if not 0 < from_saddle < length:
        raise TradeError("the string must be plucked between its ends")
    if z <= from_saddle:
        return pull * z / from_saddle
    return pull * (length - z) / (length - from_saddle)


def swing_for(
    attack: str,
    tension: Number | None = None,
    usual: Number | None = None,
    swings: Mapping[str, Number] | None = None,
    bounds: tuple[Number, Number] = TENSION_COUNTS,
) -> float:
    """Peak swing at mid-string in inches: the same pull moves a slack string further.

    `tension` and `usual` in one unit; `swings` by attack and the `bounds` of their change are a book's own,
    in place of ours.
    TradeError for an attack that is not light, medium or firm.
    Source: no source for the swings; inverse to tension by the statics of a plucked string.
    """
    if attack not in SWING:
        raise TradeError(f"{attack} is no attack")
    swing = float((swings or {}).get(attack, SWING[attack]))
    if tension is None or usual is None:
        return swing
    positive(tension, "tension")
    positive(usual, "tension")
    low, high = map(float, bounds)
    return swing * min(high, max(low, float(usual / tension)))


def clearances(board: Board, fret: int, nut_height: float, saddle_height: float) -> dict[int, float]:
    """Gap between the string held at `fret` (0 open) and each fret ahead: fret → inches."""
    x, y = (board.x(fret), board.top(fret)) if fret else (0.0, nut_height)
    slope = (saddle_height - y) / (board.saddle - x)
    return {
        ahead: y + slope * (board.x(ahead) - x) - board.top(ahead)
        for ahead in range(fret + 1, board.fret_count + 1)
    }


class Over(NamedTuple):
    """A string over one fret ahead: where (from the nut), the fret's top, the gap, and how far it swings."""

    fret: int
    x: float
    top: float
    gap: float
    reach: float


def profile(board: Board, action: Number, nut: Number, swing: float, fret: int) -> list[Over]:
    """A string held at `fret` (0 open) over every fret ahead, nearest first; inches.

    `action` over fret 12, `nut` over fret 1, `swing` at mid-string of the whole length.
    """
    start = board.x(fret) if fret else 0.0
    length = board.saddle - start
    reach = swing * length / board.saddle
    return [
        Over(
            ahead,
            board.x(ahead),
            board.top(ahead),
            gap,
            swing_envelope(board.x(ahead) - start, length, reach),
        )
        for ahead, gap in clearances(board, fret, *open_string(board, action, nut)).items()
    ]


def tightest(board: Board, action: Number, nut: Number, swing: float, string: int = 1) -> dict[int, Tight]:
    """The least margin of one string at every fret that has one ahead of it (0 is the open string).

    `action` over fret 12, `nut` over fret 1, `swing` at mid-string of the whole length. It is the least over
    what `profile` holds, without writing the rest down.
    """
    at_nut, at_saddle = open_string(board, action, nut)
    ahead = [(number, board.x(number), board.top(number)) for number in range(1, board.fret_count + 1)]
    found = {}
    for fret in range(board.fret_count):
        x, y = (ahead[fret - 1][1], ahead[fret - 1][2]) if fret else (0.0, at_nut)
        length = board.saddle - x
        slope, reach = (at_saddle - y) / length, swing * length / board.saddle
        margin, gap, over = min(
            ((gap := y + slope * (there - x) - top) - reach * shape, gap, number)
            for (number, there, top), shape in zip(ahead[fret:], board.shape(fret), strict=True)
        )
        found[fret] = Tight(margin, gap, fret, over, string)
    return found


def across(bass: Number, treble: Number, strings: int) -> list[Number]:
    """A height on each string between the outer ones, first string (treble) first.

    One to 24 strings, else TradeError.
    """
    within(strings, 1, 24, "the number of strings")
    if strings == 1:
        return [(float(bass) + float(treble)) / 2]
    step = (float(bass) - float(treble)) / (strings - 1)
    return [float(treble) + step * number for number in range(strings)]


def tightest_of_each(
    board: Board, actions: Sequence[Number], nuts: Sequence[Number], swings: Sequence[float]
) -> list[Tight]:
    """The tightest place of every string; heights and swings string by string, first string first.

    Raises TradeError for lists of different length.
    """
    if not len(actions) == len(nuts) == len(swings) or not actions:
        raise TradeError("each string needs its action, its nut height and its swing")
    strings = zip(actions, nuts, swings, strict=True)
    return [
        min(tightest(board, action, nut, swing, number).values(), key=lambda tight: tight.margin)
        for number, (action, nut, swing) in enumerate(strings, start=1)
    ]
