"""Change 17 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def promises(db: Database) -> None:
    """The yeses whose work is still to come."""
    db.conn.execute("create index promised on answers (ready) where kind = 'goahead'")
