"""What is plausible for a question, and the sentence that says when a measure is not."""

from __future__ import annotations

from fractions import Fraction

from intake.book.model import Question
from intake.i18n import N_, _
from intake.trade.units import convert, show_measure

TOO_MUCH = {
    10: N_("{typed} is too much for “{question}”: {range}."),
    100: N_("{typed} is a hundred times too much for “{question}”: {range}."),
    1000: N_("{typed} is a thousand times too much for “{question}”: {range}."),
}
TOO_LITTLE = N_("{typed} is too little for “{question}”: {range}.")


def implausible(question: Question, text: str, value: Fraction) -> str:
    """The sentence on a measure outside its range: what was typed, the range, and what to check."""
    shown = _shown(question, value)
    typed = shown if text.replace(".", "").isdigit() else text
    far = _(_how_far(question, value), typed=typed, question=question.label, range=_range(question))
    return f"{far} {_check(question, value)}"


def _range(question: Question) -> str:
    low, high = (None if end is None else _shown(question, end) for end in (question.low, question.high))
    if low is None or high is None:
        if low:
            return _("no less than {low} is plausible", low=low)
        return _("no more than {high} is plausible", high=high)
    return _("{low} to {high} is plausible", low=low, high=high)


def _shown(question: Question, value: Fraction) -> str:
    """In the unit that people type."""
    return show_measure(convert(value, question.unit, question.typed_in), question.typed_in)


def inside(question: Question, value: Fraction) -> bool:
    """Whether a value is plausible for this question."""
    above = question.low is None or value >= question.low
    return above and (question.high is None or value <= question.high)


def _how_far(question: Question, value: Fraction) -> str:
    much = question.high is not None and value > question.high
    for power, message in TOO_MUCH.items():
        if inside(question, value / power) and question.high and value >= question.high * power / 10:
            return message
    return TOO_MUCH[10] if much else TOO_LITTLE


def _check(question: Question, value: Fraction) -> str:
    if question.typed_in == "in" and inside(question, value * Fraction(5, 127)):
        return _("Check the unit: were millimetres meant?")
    if question.typed_in == "F" and inside(question, value * Fraction(9, 5) + 32):
        return _("Check the unit: were degrees Celsius meant?")
    if question.kind == "number":
        return _("Check the number.")
    return _("Check the unit and the decimal point, then measure again.")
