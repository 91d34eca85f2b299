"""Change 6 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def photos(db: Database) -> None:
    """Photos by the hash of what is stored; the files lie in the folder `photos`."""
    photo = {
        "sha256": str,
        "ticket": str,
        "kind": str,
        "width": int,
        "height": int,
        "bytes": int,
        "created": str,
    }
    db.table("photos").create(
        photo,
        pk=("ticket", "sha256"),
        not_null=set(photo),
        foreign_keys=[("ticket", "tickets", "id")],
        strict=True,
    )
    db.table("photos").create_index(["sha256"])
