"""Change 9 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


def _table(db: Database, name: str, columns: dict[str, type]) -> None:
    """A table with an `id` of its own, every column set, belonging to a ticket."""
    db.table(name).create(
        columns,
        pk="id",
        not_null=set(columns) - {"id"},
        foreign_keys=[("ticket", "tickets", "id")],
        strict=True,
    )
    db.table(name).create_index(["ticket", "id"])


@MIGRATIONS()
def outbox(db: Database) -> None:
    """Mail to be sent. `link` is 0 until the sender has made the link that the message carries."""
    mail = {
        "id": int,
        "ticket": str,
        "revision": int,
        "message_id": str,
        "recipient": str,
        "language": str,
        "address": str,
        "note": str,
        "state": str,
        "attempts": int,
        "due": str,
        "created": str,
        "changed": str,
        "said": str,
        "link": int,
    }
    _table(db, "outbox", mail)
    db.table("outbox").create_index(["message_id"], unique=True)
    db.table("outbox").create_index(["state", "due"])
