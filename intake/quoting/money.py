"""Exact money: sums are worked out as fractions and rounded once a line, half away from zero."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from math import ceil, floor

from babel.numbers import get_currency_precision

from intake.book.model import RoundingWay


@lru_cache(maxsize=32)
def digits_of(currency: str) -> int:
    """Decimals of a currency by ISO 4217 (CLDR's data): 2 for USD, 0 for JPY, 3 for KWD."""
    return get_currency_precision(currency)


def to_money(amount: Fraction | Decimal, digits: int) -> Decimal:
    """The amount to that many decimals, half away from zero."""
    scaled = abs(Fraction(amount)) * 10**digits
    whole = floor(scaled + Fraction(1, 2))
    return _decimal(whole if amount >= 0 else -whole, digits)


def whole_money(amount: Fraction, digits: int) -> Decimal:
    """The amount to that many decimals, rounded down."""
    return _decimal(floor(amount * 10**digits), digits)


def to_step(amount: Decimal, step: Decimal, digits: int, way: RoundingWay = "nearest") -> Decimal:
    """A multiple of a rounding step: the nearest (half up), or the next one up or down; 0 is no step."""
    if not step:
        return amount
    steps = Fraction(amount) / Fraction(step)
    whole = {"nearest": floor(steps + Fraction(1, 2)), "up": ceil(steps), "down": floor(steps)}[way]
    return to_money(whole * Fraction(step), digits)


def _decimal(whole: int, digits: int) -> Decimal:
    return Decimal(whole).scaleb(-digits) if digits else Decimal(whole)
