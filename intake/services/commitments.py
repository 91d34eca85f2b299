"""What of other tickets and of the shop's word stands in a quote: the bench's bookings, a discount."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from sqlite_utils import Database

from intake.book.model import Shop
from intake.quoting.model import Booking, Discount
from intake.services.discount_limit import limit_of
from intake.store import bench, discounts


def bookings(db: Database, ticket: str, today: date) -> tuple[Booking, ...]:
    """What all other accepted tickets still have on the bench from today on, by day."""
    return _bookings(bench.taken(db, ticket, today))


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
