"""Exact money: sums are worked out as fractions and rounded once a line, half away from zero."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from math import floor

from babel.numbers import get_currency_precision


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


def to_step(amount: Decimal, step: Decimal, digits: int) -> Decimal:
    """The nearest multiple of a rounding step, half up; a step of 0 leaves the amount alone."""
    if not step:
        return amount
    steps = floor(Fraction(amount) / Fraction(step) + Fraction(1, 2))
    return to_money(steps * Fraction(step), digits)


def _decimal(whole: int, digits: int) -> Decimal:
    return Decimal(whole).scaleb(-digits) if digits else Decimal(whole)
