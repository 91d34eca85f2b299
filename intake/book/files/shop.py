"""shop.toml: who the shop is, what it charges and when it is open."""

from __future__ import annotations

import re
from datetime import date, time
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import holidays
from babel import Locale, UnknownLocaleError
from babel.numbers import list_currencies

from intake.book.files.sheet import text_from
from intake.book.files.toml import Fields, open_toml
from intake.book.model import MEASURES, ROUNDING_WAYS, TAXABLE, Measures, RoundingWay, Shop, Tax, Taxable
from intake.book.problems import Problem
from intake.book.text import Text

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
IN_FULL = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
AMOUNTS = (
    "labour_rate", "minimum", "rounding", "parts_markup", "supplies_rate", "supplies_most", "deposit_rate",
    "worth_warning", "discount_most", "deposit_from",
)  # fmt: skip
LEAST_SHARE = Decimal("0.05")
_LANGUAGE = re.compile("[a-z]{2,3}(-[A-Z]{2})?")
Spans = tuple[tuple[time, time], ...]
_DAY = r"(\d{4}-\d{2}-\d{2})"
_CLOSED = re.compile(rf"{_DAY}(?:\s*(?:/|\.\.|to)\s*{_DAY})?")


def read_shop(path: Path, problems: list[Problem]) -> Shop | None:
    """The shop, or None if the file cannot be read; faulty fields are added to the problems."""
    table = open_toml(path, problems)
    if table is None:
        return None
    f = Fields(table, path.name, None, problems)
    shop = Shop(
        name=f.string("name", needed=True),
        address=f.strings("address"),
        phone=f.string("phone"),
        email=f.string("email"),
        currency=_currency(f),
        locale=_locale(f),
        languages=_languages(f),
        region=_region(f),
        labour_rate=f.decimal("labour_rate", needed=True),
        rounding=f.decimal("rounding"),
        minimum=f.decimal("minimum"),
        supplies_rate=f.decimal("supplies_rate"),
        deposit_rate=f.decimal("deposit_rate"),
        valid_days=f.whole("valid_days", 30),
        worth_warning=f.decimal("worth_warning", "0.5"),
        open_hours=_hours(f),
        closed=_closed(f),
        productive_share=_productive_share(f),
        answer_days=f.whole("answer_days", 7),
        terms=_terms(f),
        note=f.text("note"),
        taxes=_taxes(f),
        parts_markup=f.decimal("parts_markup"),
        supplies_most=f.decimal("supplies_most") if "supplies_most" in table else None,
        rounding_way=_rounding_way(f),
        discount_most=f.decimal("discount_most", "1"),
        measures=_measures(f),
        deposit_from=f.decimal("deposit_from"),
        staff_language=f.string("staff_language", "en"),
    )
    for key in AMOUNTS:
        if key in table and f.decimal(key) < 0:
            f.wrong(key, f"{key} may not be negative.")
    f.unknown()
    return shop


def _currency(fields: Fields) -> str:
    written = fields.string("currency", needed=True)
    if written and written not in list_currencies():
        fields.wrong("currency", f"“{written}” is not a currency; write its three letters, as USD or EUR.")
        return ""
    return written


def _locale(fields: Fields) -> str:
    written = fields.string("locale", "en_US")
    try:
        Locale.parse(written)
    except (UnknownLocaleError, ValueError):
        fields.wrong("locale", f"“{written}” is not a language and country; write it as en_US or fr_FR.")
    return written


def _languages(fields: Fields) -> tuple[str, ...]:
    written = fields.strings("languages") or ("en",)
    odd = next((each for each in written if not _LANGUAGE.fullmatch(each)), None)
    if odd is not None:
        fields.wrong("languages", f"“{odd}” is not a language; write two letters, as en or fr.")
        return ("en",)
    if len(set(written)) < len(written):
        fields.wrong("languages", "A language stands there twice.")
    return tuple(dict.fromkeys(written))


def _productive_share(fields: Fields) -> Fraction:
    share = fields.decimal("productive_share", "1")
    if 0 < share < LEAST_SHARE:
        fields.wrong(
            "productive_share", "A day with so little work at the bench gives no days; 5 % at least."
        )
        return Fraction(1)
    return Fraction(share)


def _region(fields: Fields) -> str:
    """Whose public holidays close the shop: a country, or one of its parts; none for an empty text."""
    written = fields.string("region")
    country, _, part = written.partition("-")
    try:
        if written:
            holidays.country_holidays(country, subdiv=part or None)
    except NotImplementedError:
        fields.wrong("region", f"The public holidays of “{written}” are not known; write it as US-NY or FI.")
        return ""
    return written


def _taxes(fields: Fields) -> tuple[Tax, ...]:
    """`[[tax]]` with `name`, `rate`, `on` (else every kind of line) and `included` (else added)."""
    written = fields.value("tax", [])
    if not (isinstance(written, list) and all(isinstance(each, dict) for each in written)):
        fields.wrong("tax", "Write each tax as [[tax]] with name, rate, on and included.")
        return ()
    return tuple(_tax(each, number, fields) for number, each in enumerate(written, 1))


def _tax(table: dict[str, Any], number: int, fields: Fields) -> Tax:
    problems: list[Problem] = []
    f = Fields(table, fields.file, None, problems)
    tax = Tax(
        name=f.text("name", needed=True),
        rate=f.decimal("rate", needed=True),
        on=_taxed_kinds(f),
        included=f.truth("included"),
    )
    if not 0 <= tax.rate <= 1:
        f.wrong("rate", f"A tax is between 0 % and 100 %, not {tax.rate * 100:f} %; write 8 % or 0.08.")
    f.unknown()
    for problem in problems:
        fields.wrong(f"tax {number} {problem.column}", problem.sentence)
    return tax


def _taxed_kinds(fields: Fields) -> tuple[Taxable, ...]:
    on = fields.strings("on") if "on" in fields.table else TAXABLE
    for word in on:
        if word not in TAXABLE:
            fields.wrong("on", f"“{word}” is not a kind of line; a tax is on {', '.join(TAXABLE)}.")
    return tuple(kind for kind in TAXABLE if kind in on)


def _rounding_way(fields: Fields) -> RoundingWay:
    written = fields.string("rounding_way", "nearest")
    for way in ROUNDING_WAYS:
        if written == way:
            return way
    fields.wrong("rounding_way", f"“{written}” is not a direction; write {', '.join(ROUNDING_WAYS)}.")
    return "nearest"


def _measures(fields: Fields) -> Measures:
    written = fields.string("measures", "customary")
    for measures in MEASURES:
        if written == measures:
            return measures
    fields.wrong("measures", f"“{written}” is not a way to measure; write {' or '.join(MEASURES)}.")
    return "customary"


def _hours(fields: Fields) -> dict[int, Spans]:
    hours: dict[int, Spans] = {}
    table = fields.value("hours", {}, needed=True)
    for day, written in table.items() if isinstance(table, dict) else ():
        if day.lower() not in (*WEEKDAYS, *IN_FULL):
            fields.wrong(f"hours.{day}", f"“{day}” is not a day; the days are {', '.join(WEEKDAYS)}.")
            continue
        spans = _spans(written)
        if spans is None:
            fields.wrong(f"hours.{day}", f"“{written}” is not a span of time; write 10:00-18:00.")
        elif spans:
            hours[WEEKDAYS.index(day[:3].lower())] = spans
    return hours


def _spans(written: Any) -> Spans | None:
    """`10:00-12:30, 13:30-18:00`, or a list of such; None if it is not that or runs backwards."""
    pieces = written if isinstance(written, list) else str(written).split(",")
    spans: list[tuple[time, time]] = []
    for piece in (str(piece).strip() for piece in pieces):
        if not piece or piece == "closed":
            continue
        try:
            start, end = (time.fromisoformat(f"{part.strip():0>5}") for part in re.split("[-–]", piece))
        except ValueError:
            return None
        if start >= end or (spans and start < spans[-1][1]):
            return None
        spans.append((start, end))
    return tuple(spans)


def closed_span(written: str) -> tuple[date, date]:
    """The first and the last day of `2026-12-24` or `2026-12-24/2027-01-02`. Raises ValueError."""
    match = _CLOSED.fullmatch(written.strip())
    if not match:
        raise ValueError(f"“{written}” is not a day; write 2026-12-24, or 2026-12-24/2027-01-02.")
    try:
        first, last = (date.fromisoformat(day) for day in (match[1], match[2] or match[1]))
    except ValueError:
        raise ValueError(f"“{written}” names a day that no calendar has.") from None
    if first > last:
        raise ValueError(f"“{written}” ends before it begins.")
    return first, last


def _closed(fields: Fields) -> tuple[str, ...]:
    closed = fields.strings("closed")
    for written in closed:
        try:
            closed_span(written)
        except ValueError as error:
            fields.wrong("closed", str(error))
    return closed


def _terms(fields: Fields) -> tuple[Text, ...]:
    """`[[terms]]` with `text` and `text [fr]`, or lists `terms` and `terms [fr]` side by side."""
    terms = fields.value("terms", [])
    if all(isinstance(term, dict) for term in terms):
        return tuple(text for term in terms if (text := text_from(term, "text")))
    others = {key: fields.value(key) for key in fields.table if key.startswith("terms [")}
    found = []
    for at, words in enumerate(terms):
        translated = {key: words_in[at] for key, words_in in others.items() if at < len(words_in)}
        found.append(text_from({"terms": words, **translated}, "terms") or Text(en=""))
    return tuple(found)
