"""Change 16 of the schema. Never edit a released one: add the next."""

from __future__ import annotations

from sqlite_utils import Database

from intake.store.migrations.registry import MIGRATIONS


@MIGRATIONS()
def search(db: Database) -> None:
    """The words of every ticket under its number; empty until `search.fill`.

    `prefix` keeps the beginnings of words ready, so that two letters need not look through all that begin
    so. Neither places nor lengths of words are kept: nothing asks for them.
    """
    db.conn.execute(
        "create virtual table search using fts5 (name, phone, serial, words,"
        " tokenize = 'unicode61', prefix = '1 2 3', detail = column, columnsize = 0)"
    )
