"""Change 14 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def attempts(db: Database) -> None:
    """Wrong PINs and passwords in a row, for each person, phone and address."""
    tries = {"kind": str, "about": str, "count": int, "last": str, "locked_until": str}
    db.table("attempts").create(tries, pk=("kind", "about"), not_null=set(tries), strict=True)
