"""Change 20 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def discounts(db: Database) -> None:
    """What staff take off a ticket, and why: `rate` a share of the sum, `amount` money, both as decimals."""
    given = {"ticket": str, "rate": str, "amount": str, "reason": str, "who": str, "at": str}
    db.table("discounts").create(
        given,
        pk="ticket",
        not_null=set(given),
        foreign_keys=[("ticket", "tickets", "id")],
        strict=True,
    )
