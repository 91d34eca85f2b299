"""Change 4 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def events(db: Database) -> None:
    """Who did what, when (UTC)."""
    columns = {
        "id": int,
        "at": str,
        "who": str,
        "device": str,
        "what": str,
        "ticket": str,
        "detail": str,
    }
    db.table("events").create(
        columns,
        pk="id",
        not_null={"at", "who", "device", "what", "detail"},
        foreign_keys=[("ticket", "tickets", "id")],
        strict=True,
    )
    db.table("events").create_index(["ticket", "id"])
