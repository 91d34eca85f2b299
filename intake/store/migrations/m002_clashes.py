"""Change 2 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def clashes(db: Database) -> None:
    """Entries that another device overtook; `revision` is the one each met, `settled_at` empty while open."""
    clash = {
        "id": int,
        "ticket": str,
        "step": str,
        "revision": int,
        "based_on": int,
        "fields": str,
        "passed": str,
        "device": str,
        "saved_at": str,
        "settled_at": str,
    }
    db.table("clashes").create(
        clash,
        pk="id",
        not_null=set(clash) - {"id"},
        foreign_keys=[("ticket", "tickets", "id")],
        strict=True,
    )
    db.table("clashes").create_index(["ticket", "step"])
