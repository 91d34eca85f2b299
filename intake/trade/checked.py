"""Numbers of the trade, and the refusals that every formula shares."""

from __future__ import annotations

from fractions import Fraction

from intake.trade.errors import TradeError

Number = Fraction | float


def positive(value: Number, what: str) -> None:
    """Raises TradeError unless `value` is above zero and finite."""
    if not 0 < value < float("inf"):
        raise TradeError(f"{what} must be above zero")


def not_negative(value: Number, what: str) -> None:
    """Raises TradeError unless `value` is zero or more and finite."""
    if not 0 <= value < float("inf"):
        raise TradeError(f"{what} must not be below zero")


def within(value: Number, low: Number, high: Number, what: str) -> None:
    """Raises TradeError unless low ≤ value ≤ high."""
    if not low <= value <= high:
        raise TradeError(f"{what} must lie between {float(low):g} and {float(high):g}")
