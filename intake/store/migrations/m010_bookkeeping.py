"""Change 10 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def bookkeeping(db: Database) -> None:
    """What must stay of a ticket whose customer was erased: numbers, amounts and days."""
    kept = {
        "ticket": str,
        "revision": int,
        "number": int,
        "made_at": str,
        "currency": str,
        "totals": str,
        "agreed": str,
        "erased_at": str,
    }
    db.table("bookkeeping").create(
        kept,
        pk=("ticket", "revision"),
        not_null=set(kept),
        foreign_keys=[("ticket", "tickets", "id")],
        strict=True,
    )
