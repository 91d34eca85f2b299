"""What a metric shop asks in: millimetres and degrees Celsius, whatever unit the checklist was written in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from intake.book.model import Choice, Question
from intake.book.text import Text
from intake.trade.units import METRIC, MeasureError, parse_measure, show_measure

ASKED = ("measure", "fret_depths", "part_depths")
"""A list of gauges keeps its unit: strings are sold in thousandths of an inch."""
PINS = "pins"
STEPS = ((Fraction(1), Fraction("0.01")), (Fraction(10), Fraction("0.1")))


def in_metric(questions: Mapping[str, Question]) -> dict[str, Question]:
    """The questions with their units and the values that they offer in metric."""
    return {id: _metric(question) for id, question in questions.items()}


def _metric(question: Question) -> Question:
    if question.kind == PINS:
        return replace(question, asked_in="mm")
    if question.kind not in ASKED or not question.unit:
        return question
    unit = METRIC.get(question.typed_in, question.typed_in)
    values = tuple({(choice := _value(each, unit)).id: choice for each in question.values}.values())
    return replace(question, asked_in=unit if unit != question.unit else "", values=values)


def _value(choice: Choice, unit: str) -> Choice:
    """A value offered, rounded as a ruler is read; one in that unit stays as it is written."""
    try:
        value = parse_measure(choice.id, unit)
    except MeasureError:
        return choice
    if choice.id.strip().endswith(unit):
        return choice
    shown = show_measure(_rounded(value), unit).replace("°", "")
    return Choice(shown, Text(en=shown))


def _rounded(value: Fraction) -> Fraction:
    step = next((step for below, step in STEPS if abs(value) < below), Fraction(1))
    return round(value / step) * step
