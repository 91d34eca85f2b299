"""The schema of what is promised: the bench's bookings, and discounts. Never edit a released change: add the
next."""

from __future__ import annotations

import json
from fractions import Fraction

from sqlite_utils import Database

from intake.store.migrations.books import MIGRATIONS


@MIGRATIONS()
def bench(db: Database) -> None:
    """Bench time of accepted tickets by day, in seconds, until the work is done; `ready` is the promised day.

    Filled with the newest yes of every ticket whose day has not passed: what was counted until now.
    """
    booking = {"ticket": str, "day": str, "seconds": int, "ready": str}
    db.table("bench").create(
        booking,
        pk=("ticket", "day"),
        not_null=set(booking),
        foreign_keys=[("ticket", "tickets", "id")],
        strict=True,
    )
    db.table("bench").create_index(["day", "ready", "seconds", "ticket"])
    db.conn.execute("create index done on tickets (ready) where state = 'done'")
    rows = db.query(
        "select ticket, offer, ready from answers where kind = 'goahead' and ready >= date('now')"
        " and id in (select max(id) from answers where kind = 'goahead' group by ticket)"
    )
    for row in list(rows):
        for day, hours in json.loads(row["offer"]).get("bench", ()):
            db.execute(
                "insert into bench (ticket, day, seconds, ready) values (?, ?, ?, ?)"
                " on conflict (ticket, day) do update set seconds = seconds + excluded.seconds",
                [row["ticket"], day, round(Fraction(hours) * 3600), row["ready"]],
            )


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
