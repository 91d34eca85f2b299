"""Between which prices a job may come out, where it hangs on a measurement still to be repeated."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from intake.book.model import Book
from intake.quoting.effort import mean
from intake.quoting.model import PlannedJob
from intake.quoting.money import digits_of, to_money


def forecast_band(job: PlannedJob, book: Book) -> tuple[Decimal, Decimal] | None:
    """The job's price at its quick and its slow hours; None for no forecast, or a flat price."""
    known, usual = book.jobs.get(job.id), mean(job.hours)
    if not job.forecast or known is None or known.price is not None or not usual:
        return None
    parts = sum((amount for _, _, amount in job.parts), Decimal(0))
    digits = digits_of(book.shop.currency)

    def at(hours: Fraction) -> Decimal:
        return to_money(Fraction(job.labour) * hours / usual, digits) + parts

    return at(Fraction(job.hours.quick)), at(Fraction(job.hours.slow))
