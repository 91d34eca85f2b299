"""A quote as JSON and back, without loss: what a stored quote is shown and printed from."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import fields
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any

from intake.book.model import Hours
from intake.book.text import Text
from intake.quoting.model import (
    Assessment,
    Booking,
    Discount,
    Evidence,
    Finding,
    Line,
    Offer,
    PlannedJob,
    Quote,
    Stretch,
)
from intake.trade.registry import Reading

CLASSES: dict[str, type] = {
    "Assessment": Assessment,
    "Discount": Discount,
    "Evidence": Evidence,
    "Finding": Finding,
    "Hours": Hours,
    "Line": Line,
    "Offer": Offer,
    "PlannedJob": PlannedJob,
    "Quote": Quote,
    "Reading": Reading,
    "Stretch": Stretch,
}
"""By the tag that stored quotes bear: a class may be renamed, its tag may not."""
TAGS = {cls: tag for tag, cls in CLASSES.items()}
SCALARS: dict[str, tuple[type, Callable[[Any], str], Callable[[str], Any]]] = {
    "fraction": (Fraction, str, Fraction),
    "decimal": (Decimal, str, Decimal),
    "moment": (datetime, datetime.isoformat, datetime.fromisoformat),
    "day": (date, date.isoformat, date.fromisoformat),
    "booked": (
        Booking,
        lambda one: f"{one.hours} {one.not_before or ''}",
        lambda text: _booked(*text.split()),
    ),
}


def _booked(hours: str, day: str = "") -> Booking:
    return Booking(Fraction(hours), date.fromisoformat(day) if day else None)


def dumps(quote: Quote) -> str:
    """The whole quote as JSON text, exact. Raises TypeError for a kind of value it does not know."""
    return json.dumps(_pack(quote), ensure_ascii=False)


def loads(text: str) -> Quote:
    """The quote that `freeze` wrote; fields that a later version dropped are left out."""
    return _unpack(json.loads(text))


def _pack(value: Any) -> Any:
    if value is None or isinstance(value, (bool, int, float, str)):
        return value
    for tag, (cls, write, _) in SCALARS.items():
        if isinstance(value, cls):
            return {tag: write(value)}
    if isinstance(value, Text):
        return {"text": dict(value)}
    if isinstance(value, Mapping):
        return {"map": [[_pack(key), _pack(item)] for key, item in value.items()]}
    if isinstance(value, frozenset | set):
        return {"set": [_pack(item) for item in sorted(value)]}
    if isinstance(value, tuple):
        return {"tuple": [_pack(item) for item in value]}
    if isinstance(value, list):
        return [_pack(item) for item in value]
    if type(value) in TAGS:
        kept = (f.name for f in fields(value) if f.metadata.get("kept", True))
        return {TAGS[type(value)]: {name: _pack(getattr(value, name)) for name in kept}}
    raise TypeError(f"a quote cannot hold {value!r}")


def _unpack(value: Any) -> Any:
    if isinstance(value, list):
        return [_unpack(item) for item in value]
    if not isinstance(value, dict):
        return value
    ((tag, content),) = value.items()
    if tag in SCALARS:
        return SCALARS[tag][2](content)
    if tag in CLASSES:
        known = {f.name for f in fields(CLASSES[tag])}
        return CLASSES[tag](**{name: _unpack(item) for name, item in content.items() if name in known})
    return _COLLECTIONS[tag](content)


_COLLECTIONS: dict[str, Callable[[Any], Any]] = {
    "text": Text,
    "map": lambda pairs: {_unpack(key): _unpack(item) for key, item in pairs},
    "set": lambda items: frozenset(_unpack(item) for item in items),
    "tuple": lambda items: tuple(_unpack(item) for item in items),
}
