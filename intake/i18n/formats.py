"""Money, days and hours as people read them."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_datetime
from babel.numbers import format_currency, format_decimal


@lru_cache
def locale_for(language: str, shop_locale: str) -> Locale:
    """The language in the shop's territory ("fr", "en_CA" → fr_CA), else the language, else English."""
    territory = Locale.parse(shop_locale).territory
    for name in (f"{language}_{territory}", language, f"en_{territory}", "en"):
        try:
            return Locale.parse(name)
        except (UnknownLocaleError, ValueError):
            continue
    raise AssertionError("Babel knows English")


def money(amount: Decimal | str, currency: str, locale: Locale | str) -> str:
    """An amount with its currency: CA$1,234.50 or 1 234,50 $."""
    return format_currency(Decimal(amount), currency, locale=locale)


def short_money(amount: Decimal, currency: str, locale: str) -> str:
    """The same without cents where there are none, for a narrow place."""
    shown = money(amount, currency, locale)
    return shown.replace(".00", "").replace(",00", "") if amount == int(amount) else shown


def day_of(moment: str) -> str:
    """The day at the counter of a stored moment, ISO."""
    return datetime.fromisoformat(moment).astimezone().date().isoformat()


def day(moment: date | str, locale: Locale | str) -> str:
    """A date with its month in words."""
    when = date.fromisoformat(moment) if isinstance(moment, str) else moment
    return format_date(when, format="long", locale=locale)


def at_time(moment: str, locale: Locale | str) -> str:
    """A stored moment as day and minute at the counter."""
    return format_datetime(datetime.fromisoformat(moment).astimezone(), "d MMM HH:mm", locale=locale)


def hours(amount: Fraction | Decimal | float, locale: Locale | str) -> str:
    """Hours to the quarter, as a bench counts them."""
    quarters = round(Fraction(amount) * 4)
    return format_decimal(Decimal(quarters) / 4, locale=locale)
