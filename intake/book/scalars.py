"""One value of an answer as people write it: text, yes or no, a choice, a measure; and what refuses it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from difflib import get_close_matches
from fractions import Fraction
from typing import Any

from intake.book.model import Choice, Question
from intake.book.plausible import implausible, inside
from intake.i18n import _
from intake.trade.units import MeasureError, parse_measure, read_in

YES, NO = ("yes", "true", "on", "1", "y"), ("no", "false", "off", "0", "n")


class Refused(ValueError):
    """An answer that cannot be taken; the message is for whoever typed it."""


@dataclass(frozen=True)
class Asked:
    """A question with all raw answers, for those whose range depends on another (frets on fret_count)."""

    question: Question
    raw: Mapping[str, Any]

    @property
    def label(self) -> str:
        return str(self.question.label)

    def most(self, id: str, otherwise: int) -> int:
        """A count answered elsewhere, if it was and can be read."""
        try:
            return int(parse_measure(word(self.raw.get(id)), ""))
        except (Refused, MeasureError):
            return otherwise


def word(written: Any) -> str:
    """One scalar as text; a float by its decimal digits, a truth value as yes or no."""
    if isinstance(written, bool):
        return "yes" if written else "no"
    if isinstance(written, float | Decimal):
        number = Decimal(repr(written)) if isinstance(written, float) else written
        if not number.is_finite() or abs(number.adjusted()) > 30:
            raise Refused(_("{number} is not a number that can be measured.", number=f"{number:.3g}"))
        return format(number, "f")
    if isinstance(written, int) and abs(written) > 10**30:
        raise Refused(_("This number is too large."))
    if isinstance(written, str | int | Fraction):
        return str(written).strip()
    if isinstance(written, date | datetime):
        return written.isoformat()
    raise Refused(_("One answer is wanted here, not a list or a table."))


def truth(written: Any) -> bool | None:
    """A truth value as people write it; None if it is not one."""
    if isinstance(written, bool):
        return written
    clean = str(written).strip().lower()
    return True if clean in YES else False if clean in NO else None


def choice(label: str, offered: tuple[Choice, ...], written: Any) -> str:
    """The id of one of the choices; anything else is refused with the nearest, or all, of them."""
    id = word(written)
    ids = [each.id for each in offered]
    if id in ids:
        return id
    folded = id.lower().replace(" ", "_")
    near = get_close_matches(folded, ids, n=1)
    given = {"answer": id[:60], "question": label}
    if near:
        raise Refused(
            _("“{answer}” is not an answer to “{question}”: did you mean {near}?", near=near[0], **given)
        )
    known = ", ".join(ids)
    raise Refused(
        _("“{answer}” is not an answer to “{question}”: choose one of {known}.", known=known, **given)
    )


def measure(asked: Asked, written: Any) -> Fraction:
    """A measure in the question's unit, within its plausible range."""
    question, text = asked.question, word(written)
    try:
        value = read_in(text, question.typed_in, question.unit)
    except MeasureError as error:
        raise Refused(_("{problem} If it was not measured, leave it empty.", problem=error)) from None
    if not inside(question, value):
        raise Refused(implausible(question, text, value))
    return value
