"""Change 1 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def tickets_and_steps(db: Database) -> None:
    """A ticket's words for the board, and each step's entries: every save appends one."""
    db.table("tickets").create(
        {
            "id": str,
            "number": int,
            "created": str,
            "updated": str,
            "name": str,
            "phone": str,
            "family": str,
            "serial": str,
            "state": str,
            "language": str,
            "total": str,
            "currency": str,
            "ready": str,
        },
        pk="id",
        not_null={"number", "created", "updated", "name", "phone", "family", "serial", "state", "language"},
        strict=True,
    )
    db.table("tickets").create_index(["number"], unique=True)
    entry = {
        "ticket": str,
        "step": str,
        "revision": int,
        "fields": str,
        "passed": str,
        "device": str,
        "saved_at": str,
    }
    db.table("steps").create(
        entry,
        pk=("ticket", "step", "revision"),
        not_null=set(entry),
        foreign_keys=[("ticket", "tickets", "id")],
        strict=True,
    )
