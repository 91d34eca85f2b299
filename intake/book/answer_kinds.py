"""How an answer of each kind is read, and the sentence that refuses it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date
from fractions import Fraction
from math import ceil
from typing import Any

from intake.book.plain_text import plain
from intake.book.plausible import inside
from intake.book.scalars import Asked, Refused, choice, measure, truth, word
from intake.i18n import N_, _
from intake.trade.units import MeasureError, parse_measure, read_in, show_measure

MOST_FRETS = 36
MOST_STRINGS = 18
LONGEST_WORDS = 4000
MOST_PINS = 200
FRET = N_("“{answer}” is not a fret of this instrument; they count from {least} to {most}.")
STRING = N_("“{answer}” is not a string of this instrument; they count from {least} to {most}.")
LONGEST_PIN = Fraction(60)
PIN_FIELDS = frozenset({"part", "kind", "state", "size", "count", "x", "y", "number", "id"})


def _number(asked: Asked, written: Any) -> Fraction:
    """A count or a year is whole; a number with a unit is a measure."""
    value = measure(asked, written)
    if not asked.question.unit and value.denominator != 1:
        raise Refused(_("“{answer}” is not a whole number.", answer=word(written)[:60]))
    return value


def _words(asked: Asked, written: Any) -> str:
    text = plain(word(written)).replace("\r", "")
    if len(text) > LONGEST_WORDS:
        message = _(
            "This is too long: {count} letters, at most {most} are kept.", count=len(text), most=LONGEST_WORDS
        )
        raise Refused(message)
    return text


def _date(asked: Asked, written: Any) -> str:
    text = word(written)
    try:
        return date.fromisoformat(text[:10] if "T" in text else text).isoformat()
    except ValueError:
        raise Refused(_("“{answer}” is not a day; write it as 2026-05-31.", answer=text[:60])) from None


def _one(asked: Asked, written: Any) -> str:
    return choice(asked.label, asked.question.values, written)


def _several(asked: Asked, written: Any) -> tuple[str, ...]:
    chosen = tuple(
        dict.fromkeys(choice(asked.label, asked.question.values, item) for item in _items(written))
    )
    if "none" in chosen and len(chosen) > 1:
        raise Refused(_("“none” cannot stand beside other answers to “{question}”.", question=asked.label))
    return chosen


def _items(written: Any, pattern: str = r"[,;\n]") -> list[Any]:
    """The items of a list; a text is split, in a list too (a form posts lists as text)."""
    pieces: list[Any] = []
    for item in written if isinstance(written, list | tuple) else [written]:
        pieces += re.split(pattern, item) if isinstance(item, str) else [item]
    return [piece for piece in pieces if not (isinstance(piece, str) and not piece.strip())]


def _yes_no(asked: Asked, written: Any) -> bool:
    held = truth(word(written))
    if held is None:
        raise Refused(_("“{answer}” is neither yes nor no.", answer=word(written)[:60]))
    return held


AMOUNT = re.compile(r"(?:[A-Za-z]{3,} ?)?[$€£¥]? ?([0-9][0-9.,'’ ]*[0-9]|[0-9]) ?[$€£¥]?(?: ?[A-Za-z]{3,})?")
"""Digits with a sign or a word on either side; a letter between or just behind them (1e3, 3k) makes none."""
GROUPED = re.compile(r"[0-9]{1,3}(?:([ '’])[0-9]{3})(?:\1[0-9]{3})*([.,][0-9]{1,2})?")
LONGEST_AMOUNT = 60


def _money(asked: Asked, written: Any) -> Fraction:
    plain = " ".join(word(written).split())
    found = AMOUNT.fullmatch(plain) if len(plain) <= LONGEST_AMOUNT else None
    text = found[1] if found else ""
    if grouped := GROUPED.fullmatch(text):
        text = text.replace(grouped[1], "")
    elif re.fullmatch(r"[0-9]{1,3}(,[0-9]{3})+(\.[0-9]{1,2})?", text):
        text = text.replace(",", "")
    elif re.fullmatch(r"[0-9]{1,3}(\.[0-9]{3})+,[0-9]{1,2}", text):
        text = text.replace(".", "")
    if not re.fullmatch(r"[0-9]{1,12}([.,][0-9]{1,2})?", text):
        message = _("“{answer}” is not an amount; write it as 1400 or 1400.50.", answer=word(written)[:60])
        raise Refused(message)
    value = Fraction(text.replace(",", "."))
    if not inside(asked.question, value):
        message = _(
            "{value} is outside what is plausible for “{question}”.", value=value, question=asked.label
        )
        raise Refused(f"{message} {_('Check the number.')}")
    return value


MEASURES_END = r";|\n|,\s+|(?<!\s)\s++(?=\.?\d)"
"""A run of blanks is looked at once: a pattern that begins at each of them takes a square of time."""


def _measures(asked: Asked, written: Any) -> tuple[Fraction, ...]:
    return tuple(measure(asked, item) for item in _items(written, MEASURES_END))


def _frets(asked: Asked, written: Any) -> tuple[int, ...]:
    most = asked.most("fret_count", MOST_FRETS)
    return tuple(sorted({_whole(item, most, FRET) for item in _items(written, r"[,;\s]+")}))


def _whole(written: Any, most: int, refusal: str, least: int = 1) -> int:
    text = word(written)
    if not re.fullmatch(r"[0-9]{1,3}", text) or not least <= int(text) <= most:
        raise Refused(_(refusal, answer=text[:60], least=least, most=most))
    return int(text)


def _string_frets(asked: Asked, written: Any) -> tuple[str, ...]:
    strings, frets = asked.most("string_count", MOST_STRINGS), asked.most("fret_count", MOST_FRETS)
    found = []
    for item in _items(written, r"[,;\s]+"):
        string, slash, fret = word(item).partition("/")
        if not slash:
            message = _("“{answer}” is not a place; write string/fret, such as 6/1.", answer=word(item)[:60])
            raise Refused(message)
        found.append(f"{_whole(string, strings, STRING)}/{_whole(fret, frets, FRET, 0)}")
    return tuple(dict.fromkeys(found))


def _table(asked: Asked, written: Any) -> Mapping[Any, Any]:
    if not isinstance(written, Mapping):
        raise Refused(_("“{question}” takes a value for each place, not one value.", question=asked.label))
    return {key: value for key, value in written.items() if value is not None and value != ""}


def _fret_depths(asked: Asked, written: Any) -> dict[int, Fraction]:
    most = asked.most("fret_count", MOST_FRETS)
    depths: dict[int, Fraction] = {}
    for fret, depth in _table(asked, written).items():
        number = _whole(fret, most, FRET)
        try:
            depths[number] = measure(asked, depth)
        except Refused as refused:
            raise Refused(_("Fret {number}: {problem}", number=number, problem=refused)) from None
    return dict(sorted(depths.items()))


def _part_states(asked: Asked, written: Any) -> dict[str, str]:
    question = asked.question
    states = question.states or question.values
    return {
        choice(asked.label, question.parts, part): choice(asked.label, states, state)
        for part, state in _table(asked, written).items()
    }


def _part_depths(asked: Asked, written: Any) -> dict[str, Fraction]:
    depths: dict[str, Fraction] = {}
    for part, depth in _table(asked, written).items():
        place = choice(asked.label, asked.question.parts, part)
        try:
            depths[place] = measure(asked, depth)
        except Refused as refused:
            name = next(part.label for part in asked.question.parts if part.id == place)
            raise Refused(f"{name}: {refused}") from None
    return depths


def _pins(asked: Asked, written: Any) -> tuple[dict[str, Any], ...]:
    listed = written if isinstance(written, list | tuple) else [written]
    if len(listed) > MOST_PINS:
        raise Refused(
            _("There are {count} places; at most {most} are kept.", count=len(listed), most=MOST_PINS)
        )
    pins = []
    for number, entry in enumerate(listed, 1):
        if not isinstance(entry, Mapping):
            raise Refused(_("Place {number} needs a part and a kind.", number=number))
        try:
            pins.append({"number": number, **_pin(asked, entry)})
        except Refused as refused:
            raise Refused(_("Place {number}: {problem}", number=number, problem=refused)) from None
    return tuple(pins)


def _pin(asked: Asked, entry: Mapping[str, Any]) -> dict[str, Any]:
    question = asked.question
    given = {key: value for key, value in entry.items() if value is not None and value != ""}
    if strange := given.keys() - PIN_FIELDS:
        raise Refused(_("“{field}” is not a field of a place.", field=min(map(str, strange))[:60]))
    pin: dict[str, Any] = {}
    for key, offered in (("part", question.parts), ("kind", question.kinds), ("state", question.states)):
        if key in given:
            pin[key] = choice(asked.label, offered, given[key])
        elif key != "state":
            raise Refused(f"the {key} is missing.")
    pin["count"] = _whole(given.get("count", 1), 99, "count")
    if "size" in given:
        pin["size"] = _size(given["size"], question.typed_in or "in")
    for inches in (8, 6):
        pin[f"pieces_{inches}in"] = pin["count"] * max(1, ceil(pin.get("size", 0) / inches))
    return pin | {axis: _hundredth(given[axis]) for axis in ("x", "y") if axis in given}


def _size(written: Any, typed_in: str) -> Fraction:
    try:
        size = read_in(word(written), typed_in, "in")
    except MeasureError as error:
        raise Refused(str(error)) from None
    if not 0 < size <= LONGEST_PIN:
        style = "mm" if typed_in == "mm" else ""
        shown, most = (show_measure(length, "in", style) for length in (size, LONGEST_PIN))
        raise Refused(f"{shown} is not a plausible size: up to {most}. Check the unit.")
    return size


def _hundredth(written: Any) -> Fraction:
    try:
        place = parse_measure(word(written), "")
    except MeasureError as error:
        raise Refused(str(error)) from None
    if not 0 <= place <= 100:
        raise Refused("the place lies outside the drawing.")
    return place


def _photos(asked: Asked, written: Any) -> tuple[str, ...]:
    return tuple(word(item) for item in (written if isinstance(written, list | tuple) else [written]))


READERS: dict[str, Callable[[Asked, Any], Any]] = {
    "words": _words,
    "date": _date,
    "one": _one,
    "several": _several,
    "yes_no": _yes_no,
    "number": _number,
    "measure": measure,
    "money": _money,
    "measures": _measures,
    "frets": _frets,
    "string_frets": _string_frets,
    "fret_depths": _fret_depths,
    "pins": _pins,
    "part_states": _part_states,
    "part_depths": _part_depths,
    "photos": _photos,
}
