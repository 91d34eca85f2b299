"""Change 15 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def by_whom(db: Database) -> None:
    """Events name person and phone by id, beside the names of the day; a quote names who assessed."""
    db.conn.execute("alter table events add column person integer references people(id)")
    db.conn.execute("alter table events add column phone integer references devices(id)")
    db.conn.execute("alter table quotes add column staff text not null default ''")
