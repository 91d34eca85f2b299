"""What of other tickets and of the shop's word stands in a quote: the bench's bookings, a discount."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from sqlite_utils import Database

from intake.quoting.model import Booked, Discount
from intake.store import bench, discounts


def promised(db: Database, ticket: str, today: date) -> tuple[Booked, ...]:
    """What all other accepted tickets still have on the bench from today on, by day."""
    return tuple(Booked(hours, day) for day, hours in bench.taken(db, ticket, today))


def discount_on(db: Database, ticket: str) -> Discount | None:
    """The discount that somebody gave on the ticket."""
    given = discounts.find(db, ticket)
    return Discount(given.reason, Decimal(given.rate), Decimal(given.amount)) if given else None
