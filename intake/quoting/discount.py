"""What a discount takes off: a share of every amount alike. Less work takes its share of an amount along."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from intake.quoting.model import Discount


def share_off(discount: Discount | None, before: Decimal, whole: Decimal) -> Fraction:
    """The share that is taken off a price of `before`; an amount of discount is for a price of `whole`.

    A price of less has its part of the amount, a price of more has the amount and no more.
    """
    if discount is None or not before:
        return Fraction(0)
    amount = Fraction(discount.amount) / Fraction(max(before, whole))
    return min(Fraction(discount.rate) + amount, Fraction(1))


def share_given(discount: Discount, whole: Decimal) -> Fraction:
    """The share of what the shop would do that somebody gave, at most all; `whole` is its price before the
    discount and before what taxes add, from which an amount is taken."""
    amount = Fraction(discount.amount) / Fraction(whole) if whole else Fraction(bool(discount.amount))
    return min(Fraction(discount.rate) + amount, Fraction(1))
