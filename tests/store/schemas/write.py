"""Write the dump of today's schema with a row in every table: `python tests/store/schemas/write.py`.

Run it when a change of the schema is released; dumps of earlier ones are never written anew, since they are
what earlier versions left on people's disks.
"""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlite_utils import Database

from intake.store.migrations.every import MIGRATIONS

HERE = Path(__file__).parent
INDEX = re.compile(r"""(PRAGMA|INSERT INTO sqlite_master|(CREATE TABLE|INSERT INTO) ["']search)""")
"""The full-text index is dumped without its contents, which opening the store writes."""
JSON = {"fields": '[["wish", "t-1"]]', "detail": "{}", "headers": "{}", "jobs": "[]"}
VALUES = {"TEXT": "t-1", "INTEGER": 1, "BLOB": b"b"}


def main() -> None:
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as empty:
        names = [migration.name for migration in MIGRATIONS.pending(Database(empty))]
    for count, name in enumerate(names, 1):
        path = HERE / f"{count:02}-{name}.sql"
        if not path.exists():
            path.write_text(dump(names[count] if count < len(names) else None), "utf-8")
            print(path)


def dump(before: str | None) -> str:
    """The schema as it was before that change, as SQL."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        db = Database(connection)
        MIGRATIONS.apply(db, stop_before=before)
        for table in db.tables:
            if not table.name.startswith(("_", "search")):
                table.insert(
                    {column.name: JSON.get(column.name, VALUES[column.type]) for column in table.columns}
                )
        statements = [said for said in connection.iterdump() if not INDEX.match(said)]
        virtual = [
            sql for (sql,) in db.execute("select sql from sqlite_master where sql like 'create virtual%'")
        ]
    return "\n".join([*statements, *(f"{sql};" for sql in virtual)]) + "\n"


if __name__ == "__main__":
    main()
