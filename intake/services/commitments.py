"""What of other tickets and of the shop's word stands in a quote: the bench's bookings, a discount."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from sqlite_utils import Database

from intake.book.model import Book, Shop
from intake.quoting.model import Booking, Discount
from intake.quoting.quote import gone_by
from intake.services.discount_limit import limit_of
from intake.store import bench, discounts


def bookings(db: Database, ticket: str, book: Book, moment: datetime) -> tuple[Booking, ...]:
    """What is no longer free at a moment on the shop's wall: the part of the day that has gone by, and what
    all other accepted tickets still have on the bench, by day."""
    return (*gone_by(book, moment), *_bookings(bench.taken(db, ticket, moment.date())))


@lru_cache(maxsize=16)
def _bookings(taken: tuple[tuple[str, int], ...]) -> tuple[Booking, ...]:
    """The same for the same bench, so that quotes made before are quickly known again."""
    return tuple(Booking(Fraction(seconds, bench.HOUR), date.fromisoformat(day)) for day, seconds in taken)


def discount_on(db: Database, ticket: str, shop: Shop) -> Discount | None:
    """The discount that somebody gave on the ticket."""
    given = discounts.find(db, ticket)
    if given is None:
        return None
    most = limit_of(given.role, shop)
    return Discount(given.reason, Decimal(given.rate), Decimal(given.amount), most)
