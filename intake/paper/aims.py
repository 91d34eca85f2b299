"""What the bench aims at: this player's numbers, and the changes that lead there."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from intake.book.model import Book
from intake.paper import labels
from intake.paper.formats import Formats
from intake.paper.measures import is_metric
from intake.quoting.model import Walkin
from intake.quoting.outcome import ANGLE, SADDLE

Facts = Mapping[str, Any]


@dataclass(frozen=True)
class Aim:
    """A measure with what it was, the range it may end in, and the middle of that range."""

    name: str
    today: str
    wanted: str
    aim: str


@dataclass(frozen=True)
class _Row:
    fact: str
    low: str
    high: str
    aim: str
    style: str = "thou"


ROWS = (
    _Row("action_bass_12", "action_bass_low", "action_bass_high", "action_target_bass", "64ths"),
    _Row("action_treble_12", "action_treble_low", "action_treble_high", "action_target_treble", "64ths"),
    _Row("relief", "relief_low", "relief_high", "relief_target"),
    _Row("nut_bass_1", "nut_bass_low", "nut_bass_high", "nut_target_bass"),
    _Row("nut_treble_1", "nut_treble_low", "nut_treble_high", "nut_target_treble"),
    _Row("saddle_showing", "saddle_least", "", "saddle_wanted", "64ths"),
)


def aims(facts: Facts, book: Book, walkin: Walkin, formats: Formats, language: str) -> list[Aim]:
    """The measures of a setup that this instrument has a target for, in the order of the bench."""
    return [
        _aim(row, facts, book, is_metric(walkin, row.fact, book), formats, language)
        for row in ROWS
        if isinstance(facts.get(row.low), Fraction)
    ]


def _aim(row: _Row, facts: Facts, book: Book, metric: bool, formats: Formats, language: str) -> Aim:
    _ = formats.gettext

    def show(id_: str) -> str:
        value = facts.get(id_)
        return formats.measure(value, "in", "mm" if metric else row.style) if value is not None else ""

    low, high = show(row.low), show(row.high)
    return Aim(
        labels.question(book, row.fact, language),
        show(row.fact),
        _("{low} to {high}", low=low, high=high) if high else _("{low} or more", low=low),
        show(row.aim),
    )


def changes(facts: Facts, done: Collection[str], formats: Formats, metric: bool = False) -> list[str]:
    """What the maths says about what the jobs `done` change: saddle, neck and frets, each as a sentence.

    A neck reset and a lower saddle are two ways to one action: both sentences say for which they hold.
    """
    reset = (facts.get("neck_angle_deficit") or 0) > 0 and bool(ANGLE & set(done))
    lowers = reset or bool(SADDLE & set(done))
    levels = bool({"fret-level-crown", "refret-partial", "refret-full"} & set(done))
    sentences = [
        _saddle(facts, formats, metric, reset) if lowers else "",
        _saddle_left(facts, formats, metric, reset) if lowers else "",
        _wedge(facts, formats, metric) if reset else "",
        _crown(facts, formats, metric) if levels else "",
    ]
    return [sentence for sentence in sentences if sentence]


def _saddle(facts: Facts, formats: Formats, metric: bool, reset: bool) -> str:
    _ = formats.gettext
    bass, treble = facts.get("saddle_drop_bass"), facts.get("saddle_drop_treble")
    if bass is None or treble is None or not (_seen(bass) or _seen(treble)):
        return ""
    ends = {"bass": _lower(bass, formats, metric), "treble": _lower(treble, formats, metric)}
    if not reset:
        return _("The middle of the range asks: saddle bass {bass}, treble {treble}.", **ends)
    return _(
        "With the neck angle as it is, the middle of the range asks: saddle bass {bass}, treble {treble}.",
        **ends,
    )


def _seen(change: Fraction) -> bool:
    """Whether a change is more than the thousandth that a bench can hold."""
    return abs(change) >= Fraction(1, 1000)


def _lower(drop: Fraction, formats: Formats, metric: bool) -> str:
    _ = formats.gettext
    if not _seen(drop):
        return _("no change")
    much = formats.thousandths(abs(drop), metric)
    return _("{much} lower", much=much) if drop > 0 else _("{much} higher", much=much)


def _saddle_left(facts: Facts, formats: Formats, metric: bool, reset: bool) -> str:
    _ = formats.gettext
    left, least = facts.get("saddle_left"), facts.get("saddle_least")
    if left is None or least is None:
        return ""
    heights = {"left": formats.height(left, metric), "least": formats.height(least, metric)}
    if reset:
        return _("So lowered, the saddle would show {left}; {least} is the least.", **heights)
    return _("The saddle then shows {left}; {least} is the least.", **heights)


def _wedge(facts: Facts, formats: Formats, metric: bool) -> str:
    _ = formats.gettext
    wedge = facts.get("heel_wedge")
    if not wedge:
        return ""
    line = _(
        "For a neck reset: take a wedge of {wedge} at the end of the heel, nothing at the fingerboard.",
        wedge=formats.thousandths(wedge, metric),
    )
    angle = facts.get("neck_angle_change")
    turn = _("The neck goes back by {angle}.", angle=formats.number(angle, 2) + "°") if angle else ""
    return f"{line} {turn}".strip()


def _crown(facts: Facts, formats: Formats, metric: bool) -> str:
    _ = formats.gettext
    left, least = facts.get("crown_left"), facts.get("crown_limit")
    if left is None or least is None:
        return ""
    return _(
        "Levelling to the deepest wear leaves {left} of crown; {least} is the least.",
        left=formats.thousandths(left, metric),
        least=formats.thousandths(least, metric),
    )
