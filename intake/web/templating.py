"""What every template may use: translation, and filters for money, days, hours."""

from __future__ import annotations

from collections.abc import Callable

from flask import Flask

from intake.i18n.formats import at_time, day, day_of, hours, money
from intake.i18n.messages import translations


def install(app: Flask, locale: Callable[[], str]) -> None:
    """Give the templates `_`, `ngettext` and filters for money, days, hours; `locale` is asked each time."""
    env = app.jinja_env
    env.add_extension("jinja2.ext.i18n")
    env.install_gettext_callables(  # type: ignore[attr-defined]
        translations.gettext, translations.ngettext, newstyle=True
    )
    env.globals["language"] = "en"
    env.filters["money"] = lambda amount, currency: money(amount, currency, locale())
    env.filters["day"] = lambda moment: day(moment, locale())
    env.filters["on_day"] = lambda moment: day(day_of(moment), locale())
    env.filters["at_time"] = lambda moment: at_time(moment, locale())
    env.filters["hours"] = lambda amount: hours(amount, locale())
