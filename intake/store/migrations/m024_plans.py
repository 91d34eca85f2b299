"""Change 24 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def plans(db: Database) -> None:
    """The jobs of what the shop would do, as JSON for the calendar: their hours, waits and order."""
    plan = {"ticket": str, "blocks": str}
    db.table("plans").create(
        plan, pk="ticket", not_null=set(plan), foreign_keys=[("ticket", "tickets", "id")], strict=True
    )
