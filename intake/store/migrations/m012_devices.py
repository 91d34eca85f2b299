"""Change 12 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def devices(db: Database) -> None:
    """Enrolled phones by the hash of their token, and the codes that enrol one; empty moments are to come."""
    device = {
        "id": int,
        "name": str,
        "token_sha256": str,
        "enrolled_by": int,
        "enrolled_at": str,
        "last_seen": str,
        "revoked_at": str,
    }
    db.table("devices").create(
        device,
        pk="id",
        not_null=set(device) - {"id"},
        foreign_keys=[("enrolled_by", "people", "id")],
        strict=True,
    )
    db.table("devices").create_index(["token_sha256"], unique=True)
    code = {"code_sha256": str, "made_by": int, "expires": str, "used_at": str}
    db.table("enrolments").create(
        code,
        pk="code_sha256",
        not_null=set(code),
        foreign_keys=[("made_by", "people", "id")],
        strict=True,
    )
