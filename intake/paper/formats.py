"""Money, dates and measures as people write them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction

from babel import Locale
from babel.dates import format_date, format_skeleton, format_time
from babel.numbers import format_currency, format_decimal, format_percent, get_decimal_symbol

from intake.book.model import Measures
from intake.book.wording import inches_in
from intake.i18n import Translations
from intake.trade.units import show_measure, show_metric


@dataclass(frozen=True)
class Formats:
    """How one document writes things: `locale` for dates and numbers, `shop_locale` for money.

    Code says `_ = formats.gettext` and `_("…")`, so that the extractor finds the texts.
    """

    locale: Locale
    shop_locale: str
    currency: str
    texts: Translations
    measures: Measures = "customary"

    def gettext(self, message: str, /, **fields: object) -> str:
        """One of our own messages in the document's language."""
        return self.texts.gettext(message, **fields)

    def pgettext(self, context: str, message: str, /, **fields: object) -> str:
        """A message that means something else in another context."""
        return self.texts.pgettext(context, message, **fields)

    def money(self, amount: Decimal) -> str:
        """An amount with its currency's sign and cents."""
        return format_currency(amount, self.currency, locale=self.shop_locale)

    def day(self, day: date) -> str:
        """A date in full: November 25, 2026."""
        return format_date(day, format="long", locale=self.locale)

    def weekday(self, day: date) -> str:
        """A date with its weekday, without the year: Fri, Dec 18."""
        weekday = format_date(day, format="EEE", locale=self.locale)
        return f"{weekday} {format_skeleton('MMMMd', day, locale=self.locale)}"

    def weekday_number(self, day: date) -> str:
        """The shortest: Wed 2."""
        return format_date(day, format="EEE d", locale=self.locale)

    def short_day(self, day: date) -> str:
        """Day and short month: Dec 2."""
        return format_skeleton("MMMd", day, locale=self.locale)

    def clock(self, moment: datetime) -> str:
        """A time of day as the language writes it."""
        return format_time(moment.time(), format="short", locale=self.locale)

    def number(self, value: Fraction | Decimal | int, digits: int) -> str:
        """Rounded to at most `digits` decimals."""
        return format_decimal(_decimal(value, digits), locale=self.locale, decimal_quantization=False)

    def percent(self, share: Decimal, digits: int = 0) -> str:
        """A fraction as a percentage with at most `digits` decimals."""
        spaced = re.search(r"\s%", self.locale.percent_formats[None].pattern)
        pattern = "#,##0" + ("." + "#" * digits if digits else "") + (" %" if spaced else "%")
        return format_percent(share, format=pattern, locale=self.locale)

    def hours(self, low: Fraction, high: Fraction) -> str:
        """A range of hours to a tenth, or one number if both round to it."""
        ends = self._fixed(low, 1), self._fixed(high, 1)
        return ends[0] if ends[0] == ends[1] else "–".join(ends)

    def measure(self, value: Fraction, unit: str, style: str = "") -> str:
        """A measure as the trade writes it (styles of `show_measure`), with the language's decimal sign."""
        metric = self.measures == "metric"
        written = show_metric(value, unit) if metric else show_measure(value, unit, style)
        written = written.replace(".", get_decimal_symbol(self.locale)).replace("-", "−")
        return inches_in(written, self.texts)

    def height(self, value: Fraction, metric: bool = False) -> str:
        """An action or saddle height in 64ths of an inch, or millimetres."""
        return self.measure(value, "in", "mm" if metric else "64ths")

    def thousandths(self, value: Fraction, metric: bool = False) -> str:
        """A relief, nut or fret measure in thousandths of an inch, or millimetres."""
        return self.measure(value, "in", "mm" if metric else "thou")

    def _fixed(self, value: Fraction, digits: int) -> str:
        pattern = "0." + "0" * digits
        return format_decimal(_decimal(value, digits), format=pattern, locale=self.locale)


def _decimal(value: Fraction | Decimal | int, digits: int) -> Decimal:
    """Half-even to `digits` decimals, exactly (no binary floating point)."""
    scaled = round(Fraction(value) * 10**digits)
    return Decimal(scaled).scaleb(-digits)
