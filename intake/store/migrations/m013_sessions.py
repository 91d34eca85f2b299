"""Change 13 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def sessions(db: Database) -> None:
    """Who is signed in where, by the hash of a token; `device` is null for the owner's password elsewhere."""
    session = {
        "id": int,
        "token_sha256": str,
        "person": int,
        "device": int,
        "created": str,
        "last_seen": str,
        "ended": str,
    }
    db.table("sessions").create(
        session,
        pk="id",
        not_null=set(session) - {"id", "device"},
        foreign_keys=[("person", "people", "id"), ("device", "devices", "id")],
        strict=True,
    )
    db.table("sessions").create_index(["token_sha256"], unique=True)
