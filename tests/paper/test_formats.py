"""Money, dates and measures on paper."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.i18n import translations
from intake.i18n.formats import locale_for
from intake.paper.formats import Formats
from intake.trade.units import parse_measure

US = Formats(locale_for("en", "en_US"), "en_US", "USD", translations("en"))
CANADA = Formats(locale_for("fr", "en_CA"), "en_CA", "CAD", translations("en"))
BRITAIN = Formats(locale_for("en", "en_GB"), "en_GB", "GBP", translations("en"))
inches = st.fractions(min_value=-1, max_value=1, max_denominator=1000)


@pytest.mark.parametrize(
    ("language", "shop", "expected"),
    [("en", "en_US", "en_US"), ("fr", "en_CA", "fr_CA"), ("fr", "en_US", "fr"), ("xx", "en_US", "en_US")],
)
def test_language_in_the_shops_territory_where_there_is_one(language: str, shop: str, expected: str) -> None:
    assert str(locale_for(language, shop)) == expected


def test_money_is_the_shops() -> None:
    assert US.money(Decimal("1240")) == CANADA.money(Decimal("1240")) == "$1,240.00"
    assert US.money(Decimal("-34.5")) == "-$34.50" and BRITAIN.money(Decimal("3")) == "£3.00"


def test_dates_are_the_languages() -> None:
    day = date(2026, 12, 18)
    assert (US.day(day), CANADA.day(day)) == ("December 18, 2026", "18 décembre 2026")
    assert (US.weekday(day), BRITAIN.weekday(day)) == ("Fri December 18", "Fri 18 December")
    assert CANADA.weekday(day) == "ven. 18 décembre"


def test_measures() -> None:
    assert US.height(Fraction(5, 64)) == "5/64 in" and US.height(Fraction(13, 128)) == "6.5/64 in"
    assert (
        US.thousandths(Fraction("0.008")) == "0.008 in"
        and CANADA.thousandths(Fraction("0.008")) == "0,008 in"
    )
    assert US.height(Fraction(5, 64), metric=True) == "1.98 mm"
    assert US.height(Fraction(-1, 32)) == "−2/64 in"


def test_hours() -> None:
    assert US.hours(Fraction(1, 2), Fraction(7, 4)) == "0.5–1.8"
    assert US.hours(Fraction(1), Fraction(1)) == "1.0"


@given(inches)
def test_what_is_printed_reads_back_within_its_rounding(value: Fraction) -> None:
    for formats in (US, CANADA):
        assert abs(parse_measure(formats.height(value), "in") - value) <= Fraction(1, 1280)
        assert abs(parse_measure(formats.thousandths(value), "in") - value) <= Fraction(1, 2000)
        assert abs(parse_measure(formats.height(value, metric=True), "in") - value) <= Fraction(1, 5000)
