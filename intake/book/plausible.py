"""What is plausible for a question, and the sentence that says when a measure is not."""

from __future__ import annotations

from fractions import Fraction

from intake.book.model import Question
from intake.trade.units import convert, show_measure

POWERS = {10: "ten times", 100: "a hundred times", 1000: "a thousand times"}


def implausible(question: Question, text: str, value: Fraction) -> str:
    """The sentence on a measure outside its range: what was typed, the range, and what to check."""
    shown = _shown(question, value)
    typed = shown if text.replace(".", "").isdigit() else text
    far = _how_far(question, value)
    return f"{typed} is {far} for “{question.label}”: {_range(question)}. {_check(question, value)}"


def _range(question: Question) -> str:
    low, high = (None if end is None else _shown(question, end) for end in (question.low, question.high))
    if low is None or high is None:
        return f"no less than {low} is plausible" if low else f"no more than {high} is plausible"
    return f"{low} to {high} is plausible"


def _shown(question: Question, value: Fraction) -> str:
    """In the unit that people type."""
    return show_measure(convert(value, question.unit, question.typed_in), question.typed_in)


def inside(question: Question, value: Fraction) -> bool:
    """Whether a value is plausible for this question."""
    above = question.low is None or value >= question.low
    return above and (question.high is None or value <= question.high)


def _how_far(question: Question, value: Fraction) -> str:
    much = question.high is not None and value > question.high
    for power, words in POWERS.items():
        if inside(question, value / power) and question.high and value >= question.high * power / 10:
            return f"{words} too much" if power > 10 else "too much"
    return "too much" if much else "too little"


def _check(question: Question, value: Fraction) -> str:
    if question.typed_in == "in" and inside(question, value * Fraction(5, 127)):
        return "Check the unit: were millimetres meant?"
    if question.typed_in == "F" and inside(question, value * Fraction(9, 5) + 32):
        return "Check the unit: were degrees Celsius meant?"
    if question.kind == "number":
        return "Check the number."
    return "Check the unit and the decimal point, then measure again."
