"""Rows read and written by plain SQL. sqlite-utils makes the tables; asked for rows, it would ask SQLite's
catalogue before each statement which tables there are.

Table and column names come from this program, values only as parameters.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, cast

from sqlite_utils import Database

Row = dict[str, Any]


def select(
    db: Database, table: str, where: str = "", values: Sequence[Any] = (), order_by: str = "", limit: int = -1
) -> list[Row]:
    """Whole rows of a table."""
    sql = f"select * from {table}"  # noqa: S608
    sql += f" where {where}" if where else ""
    sql += f" order by {order_by}" if order_by else ""
    return query(db, f"{sql} limit {limit:d}", values)


def first(
    db: Database, table: str, where: str = "", values: Sequence[Any] = (), order_by: str = ""
) -> Row | None:
    """The first of them."""
    return next(iter(select(db, table, where, values, order_by, 1)), None)


def query(db: Database, sql: str, values: Sequence[Any] = ()) -> list[Row]:
    """What a select finds, each row by column."""
    return list(iterate(db, sql, values))


def iterate(db: Database, sql: str, values: Sequence[Any] = ()) -> Iterator[Row]:
    """The same one by one, for what may be more than memory should hold."""
    cursor = db.execute(sql, values)
    names = [column[0] for column in cursor.description]
    return (dict(zip(names, row, strict=True)) for row in cursor)


def insert(db: Database, table: str, row: Mapping[str, Any]) -> int:
    """Add a row; its rowid. Raises sqlite3.IntegrityError where one stands already."""
    return _write(db, "insert", table, row)


def save(db: Database, table: str, row: Mapping[str, Any]) -> int:
    """Add a row, in the place of the one that stands there already."""
    return _write(db, "insert or replace", table, row)


def insert_new(db: Database, table: str, row: Mapping[str, Any]) -> None:
    """Add a row, unless one stands there already."""
    _write(db, "insert or ignore", table, row)


def update(db: Database, table: str, id: str | int, changes: Mapping[str, Any]) -> None:
    """Change columns of the row with that id."""
    columns = ", ".join(f"{column} = ?" for column in changes)
    db.execute(f"update {table} set {columns} where id = ?", [*changes.values(), id])  # noqa: S608


def delete(db: Database, table: str, where: str, values: Sequence[Any] = ()) -> int:
    """Take rows out; how many that were."""
    return cast(int, db.execute(f"delete from {table} where {where}", values).rowcount)  # noqa: S608


def _write(db: Database, verb: str, table: str, row: Mapping[str, Any]) -> int:
    columns, marks = ", ".join(row), ", ".join("?" * len(row))
    sql = f"{verb} into {table} ({columns}) values ({marks})"
    return cast(int, db.execute(sql, list(row.values())).lastrowid)
