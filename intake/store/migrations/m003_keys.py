"""Change 3 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def keys(db: Database) -> None:
    """Idempotency keys with the answer that each request got."""
    columns = {"key": str, "body_sha256": str, "status": int, "body": bytes, "headers": str, "created": str}
    db.table("keys").create(columns, pk="key", not_null=set(columns), strict=True)
    db.table("keys").create_index(["created"])
