"""The table "What we measured": each measure against its target range, in words as well as figures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from intake.book.model import Book
from intake.paper.formats import Formats
from intake.quoting.model import Quote, Walkin


@dataclass(frozen=True)
class Measure:
    """A row: what, its value, the wanted range, and how it stands to it; `off` where it is outside."""

    name: str
    value: str
    wanted: str
    verdict: str
    off: bool = False


@dataclass(frozen=True)
class _Row:
    """A fact and the facts that bound it; empty names mean no bound."""

    fact: str
    low: str = ""
    high: str = ""
    style: str = "64ths"


ROWS = (
    _Row("action_bass_12", "action_bass_low", "action_bass_high"),
    _Row("action_treble_12", "action_treble_low", "action_treble_high"),
    _Row("relief", "relief_low", "relief_high", "thou"),
    _Row("nut_bass_1", "nut_bass_low", "nut_bass_high", "thou"),
    _Row("nut_treble_1", "nut_treble_low", "nut_treble_high", "thou"),
    _Row("saddle_showing", "saddle_least"),
    _Row("saddle_left", "saddle_least"),
    _Row("straightedge_at_bridge"),
    _Row("crown_height", "crown_limit", "", "thou"),
    _Row("crown_left", "crown_limit", "", "thou"),
)
# The typed answer whose unit a computed row follows.
FOLLOWS = {"saddle_left": "saddle_showing", "crown_left": "crown_height"}
SHOWN_ELSEWHERE = {"scale_length"}
LENGTHS = ("measure", "measures", "fret_depths", "part_depths")
STEPS = ("strings-and-room", "neck", "action", "frets", "top-and-bridge")


def measured(quote: Quote, book: Book, walkin: Walkin, formats: Formats, language: str) -> list[Measure]:
    """The main measures that were taken or computed, in the order of the bench."""
    facts: Mapping[str, Any] = quote.assessment.facts
    return [
        _measure(row, facts, book, is_metric(walkin, row.fact, book), formats, language)
        for row in ROWS
        if isinstance(facts.get(row.fact), Fraction)
    ]


def also_measured(quote: Quote, book: Book, formats: Formats, language: str) -> list[tuple[str, str]]:
    """The other measures of the assessment, as name and value."""
    facts: Mapping[str, Any] = quote.assessment.facts
    shown = {row.fact for row in ROWS} | SHOWN_ELSEWHERE
    return [
        (question.label.in_(language), formats.measure(facts[id_], question.unit))
        for id_, question in book.questions.items()
        if question.kind == "measure"
        and question.step in STEPS
        and id_ not in shown
        and isinstance(facts.get(id_), Fraction)
    ]


def is_metric(walkin: Walkin, fact: str, book: Book) -> bool:
    """Whether the paper has this measure in millimetres: the shop's way, or that of whoever typed it."""
    typed = str(walkin.answers.get(FOLLOWS.get(fact, fact), "")).lower()
    return book.shop.measures == "metric" or "mm" in typed


def metric_facts(walkin: Walkin, book: Book) -> set[str]:
    """The answers that the paper has in millimetres."""
    return {id_ for id_ in (*book.questions, *walkin.answers) if is_metric(walkin, id_, book)}


def _measure(
    row: _Row, facts: Mapping[str, Any], book: Book, metric: bool, formats: Formats, language: str
) -> Measure:
    style = "mm" if metric else row.style

    def show(value: Fraction) -> str:
        return formats.measure(value, "in", style)

    value: Fraction = facts[row.fact]
    low, high = facts.get(row.low), facts.get(row.high)
    below, above = low is not None and value < low, high is not None and value > high
    return Measure(
        fact_name(row.fact, book, formats, language),
        show(value),
        _range(low, high, show, formats),
        _verdict(value, low, high, show, formats),
        below or above,
    )


def fact_name(fact: str, book: Book, formats: Formats, language: str) -> str:
    """What a measured or computed length is called; empty for a fact that is neither."""
    _ = formats.gettext
    computed = {
        "saddle_left": _("Saddle that would still show with the action right"),
        "crown_left": _("Lowest fret crown after levelling"),
    }
    if fact in computed:
        return computed[fact]
    asked = book.questions.get(fact)
    return asked.label.in_(language) if asked and asked.kind in LENGTHS else ""


def _range(low: Fraction | None, high: Fraction | None, show: Any, formats: Formats) -> str:
    _ = formats.gettext
    if low is not None and high is not None:
        return _("{low} to {high}", low=show(low), high=show(high))
    if low is not None:
        return _("{low} or more", low=show(low))
    return _("{high} or less", high=show(high)) if high is not None else ""


def _verdict(
    value: Fraction, low: Fraction | None, high: Fraction | None, show: Any, formats: Formats
) -> str:
    _ = formats.gettext
    if low is not None and value < low:
        return _("{much} too low", much=show(low - value))
    if high is not None and value > high:
        return _("{much} too high", much=show(value - high))
    return _("good") if low is not None or high is not None else ""
