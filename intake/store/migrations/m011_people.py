"""Change 11 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def people(db: Database) -> None:
    """Staff. A hash is empty where the person has none; `active` is 0 for who was turned off."""
    person = {
        "id": int,
        "name": str,
        "role": str,
        "pin_hash": str,
        "password_hash": str,
        "active": int,
        "created": str,
    }
    db.table("people").create(person, pk="id", not_null=set(person) - {"id"}, strict=True)
    db.conn.execute("create unique index people_by_name on people (name collate nocase)")
    db.conn.execute("create unique index one_owner on people (role) where role = 'owner'")
