"""Change 22 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def discount_roles(db: Database) -> None:
    """`role` as it was when the discount was given; for those given earlier, the one that name has today."""
    db.table("discounts").add_column("role", str, not_null_default="")
    db.execute(
        "update discounts set role = coalesce((select role from people where name = discounts.who), '')"
    )
