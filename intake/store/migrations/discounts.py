"""Who gave a discount: the role counts, since the owner may give more. Never edit a released change: add the
next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.findings import MIGRATIONS


@MIGRATIONS()
def discount_roles(db: Database) -> None:
    """`role` as it was when the discount was given; for those given earlier, the one that name has today."""
    db.table("discounts").add_column("role", str, not_null_default="")
    db.execute(
        "update discounts set role = coalesce((select role from people where name = discounts.who), '')"
    )
