"""Change 19 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

import json
from fractions import Fraction

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


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
