"""What every template may use: translation, and filters for money, days, hours."""

from __future__ import annotations

from collections.abc import Callable

from babel import Locale
from flask import Flask

from intake.book.model import Shop
from intake.i18n import messages, templates
from intake.i18n.catalogues import SOURCE
from intake.i18n.formats import at_time, day, day_of, hours, locale_for, money, short_money


def install(app: Flask, shop: Callable[[], Shop]) -> None:
    """Give the templates messages in the staff's language, and filters for money, days, hours.

    `shop` is asked at each message and each amount. Money is written as the shop does in every language.
    """

    def locale() -> Locale:
        return locale_for(messages.current_language(), shop().locale)

    def staff_language() -> str:
        return shop().staff_language

    @app.before_request
    def use_staff_language() -> None:
        messages.use(staff_language)

    @app.teardown_request
    def use_source_language(_error: BaseException | None) -> None:
        messages.use(lambda: SOURCE)

    env = app.jinja_env
    templates.install(env, messages.current_language)
    app.context_processor(lambda: {"language": messages.current_language()})
    env.filters["money"] = lambda amount, currency: money(amount, currency, shop().locale)
    env.filters["short_money"] = lambda amount, currency: short_money(amount, currency, shop().locale)
    env.filters["day"] = lambda moment: day(moment, locale())
    env.filters["on_day"] = lambda moment: day(day_of(moment), locale())
    env.filters["at_time"] = lambda moment: at_time(moment, locale())
    env.filters["hours"] = lambda amount: hours(amount, locale())
