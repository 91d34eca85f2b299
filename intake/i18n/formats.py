"""Money, days and hours as people read them."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction

from babel.dates import format_date, format_datetime
from babel.numbers import format_currency, format_decimal


def money(amount: Decimal | str, currency: str, locale: str) -> str:
    """An amount with its currency: CA$1,234.50 or 1 234,50 $."""
    return format_currency(Decimal(amount), currency, locale=locale)


def short_money(amount: Decimal, currency: str, locale: str) -> str:
    """The same without cents where there are none, for a narrow place."""
    shown = money(amount, currency, locale)
    return shown.replace(".00", "").replace(",00", "") if amount == int(amount) else shown


def day_of(moment: str) -> str:
    """The day at the counter of a stored moment, ISO."""
    return datetime.fromisoformat(moment).astimezone().date().isoformat()


def day(moment: date | str, locale: str) -> str:
    """A date with its month in words."""
    when = date.fromisoformat(moment) if isinstance(moment, str) else moment
    return format_date(when, format="long", locale=locale)


def at_time(moment: str, locale: str) -> str:
    """A stored moment as day and minute at the counter."""
    return format_datetime(datetime.fromisoformat(moment).astimezone(), "d MMM HH:mm", locale=locale)


def hours(amount: Fraction | Decimal | float, locale: str) -> str:
    """Hours to the quarter, as a bench counts them."""
    quarters = round(Fraction(amount) * 4)
    return format_decimal(Decimal(quarters) / 4, locale=locale)
