"""Texts and numbers as people read them. `_` marks a sentence for translation; English is the source."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from gettext import NullTranslations

from babel.dates import format_date
from babel.numbers import format_currency, format_decimal
from flask import Flask

_translations = NullTranslations()


def _(message: str, /, **values: object) -> str:
    """The message in the reader's language, its `%(name)s` filled in."""
    text = _translations.gettext(message)
    return text % values if values else text


def N_(message: str) -> str:
    """Mark a sentence that is translated later, where it is shown."""
    return message


def install(app: Flask, locale: Callable[[], str]) -> None:
    """Give the templates `_`, `ngettext` and filters for money, days, hours; `locale` is asked each time."""
    env = app.jinja_env
    env.add_extension("jinja2.ext.i18n")
    env.install_gettext_callables(  # type: ignore[attr-defined]
        _translations.gettext, _translations.ngettext, newstyle=True
    )
    env.globals["language"] = "en"
    env.filters["money"] = lambda amount, currency: money(amount, currency, locale())
    env.filters["day"] = lambda moment: day(moment, locale())
    env.filters["on_day"] = lambda moment: day(day_of(moment), locale())
    env.filters["hours"] = lambda amount: hours(amount, locale())


def money(amount: Decimal | str, currency: str, locale: str) -> str:
    """An amount with its currency: CA$1,234.50 or 1 234,50 $."""
    return format_currency(Decimal(amount), currency, locale=locale)


def day_of(moment: str) -> str:
    """The day at the counter of a stored moment, ISO."""
    return datetime.fromisoformat(moment).astimezone().date().isoformat()


def day(moment: date | str, locale: str) -> str:
    """A date with its month in words."""
    when = date.fromisoformat(moment) if isinstance(moment, str) else moment
    return format_date(when, format="long", locale=locale)


def hours(amount: Fraction | Decimal | float, locale: str) -> str:
    """Hours to the quarter, as a bench counts them."""
    quarters = round(Fraction(amount) * 4)
    return format_decimal(Decimal(quarters) / 4, locale=locale)
