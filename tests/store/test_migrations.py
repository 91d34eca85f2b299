"""The schema comes up from nothing and from any state in between."""

from __future__ import annotations

import sqlite3
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path

import pytest

from intake.store import edits, photos, tickets
from intake.store.backup.archive import archives
from intake.store.db import Store, connect
from intake.store.errors import StoreError
from intake.store.migrations.every import MIGRATIONS

NAMES = [migration.name for migration in MIGRATIONS.pending(connect(Path(":memory:")))]


def schema(store: Store) -> str:
    return store.db.schema


def test_every_table_is_strict(store: Store) -> None:
    """But for the full-text index, whose tables SQLite makes itself."""
    ours = [table for table in store.db.tables if not table.name.startswith(("_", "search"))]
    assert len(ours) >= 8
    assert all(table.strict for table in ours)


def test_opening_again_changes_nothing(store: Store) -> None:
    before = schema(store)
    assert schema(Store(store.folder)) == before


@pytest.mark.parametrize("name", NAMES)
def test_a_start_finishes_what_another_left_half_done(name: str, tmp_path: Path, store: Store) -> None:
    half = connect(tmp_path / "tallyfret.db")
    MIGRATIONS.apply(half, stop_before=name)
    half.close()
    assert schema(Store(tmp_path)) == schema(store)


def test_two_starts_at_once(tmp_path: Path, store: Store) -> None:
    with ThreadPoolExecutor(4) as threads:
        list(threads.map(lambda _: Store(tmp_path), range(4)))
    assert schema(Store(tmp_path)) == schema(store)


DUMPS = sorted(Path(__file__).with_name("schemas").glob("*.sql"))


def load(dump: Path, folder: Path) -> Path:
    """A data folder as an earlier version left it."""
    folder.mkdir()
    with closing(sqlite3.connect(folder / "tallyfret.db")) as db:
        db.executescript(dump.read_text("utf-8"))
        db.execute("PRAGMA journal_mode = WAL")
    return folder


def contents(path: Path) -> dict[str, list[dict[str, object]]]:
    """Every row of every table of ours, by column."""
    with closing(sqlite3.connect(path)) as db:
        db.row_factory = sqlite3.Row
        names = db.execute("select name from sqlite_master where type = 'table' and name not like 'search%'")
        tables = [name for (name,) in names if not name.startswith(("_", "sqlite"))]
        return {name: [dict(row) for row in db.execute(f"select * from {name}")] for name in tables}  # noqa: S608


def test_there_is_a_dump_of_every_schema() -> None:
    assert [dump.stem.split("-")[1] for dump in DUMPS] == NAMES, "python tests/store/schemas/write.py"


@pytest.mark.parametrize("dump", DUMPS, ids=lambda dump: dump.stem)
def test_every_earlier_schema_comes_up_with_all_it_held(dump: Path, tmp_path: Path, store: Store) -> None:
    folder = load(dump, tmp_path / "shop")
    before = contents(folder / "tallyfret.db")
    opened = Store(folder)
    after = contents(folder / "tallyfret.db")
    for table, rows in before.items():
        assert rows
        names = [name for name in rows[0] if (table, name) != ("lives", "version")]
        kept = [{name: row[name] for name in names} for row in after[table] if not is_of_photo(row)]
        assert kept == [{name: row[name] for name in names} for row in rows], table
    assert {name: set(columns(opened, name)) for name in after} == {
        name: set(columns(store, name)) for name in after
    }
    assert indexes(opened) == indexes(store)
    assert [ticket.id for ticket in tickets.board(opened.db, "t-1")] == ["t-1"]
    assert opened.db.execute("PRAGMA foreign_key_check").fetchall() == []
    opened.close()
    backups = archives(folder / "backups")
    assert len(backups) == (dump != DUMPS[-1])
    if backups:
        assert contents(backups[0].database) == before
        assert backups[0].manifest().why == "update"


def is_of_photo(row: dict[str, object]) -> bool:
    """Change 25 gives each photo an edit that says that it is there."""
    return str(row.get("part", "")).startswith("photos/")


@pytest.mark.parametrize("dump", DUMPS[5:24:9], ids=lambda dump: dump.stem)
def test_a_photo_of_before_is_there(dump: Path, tmp_path: Path) -> None:
    opened = Store(load(dump, tmp_path / "shop"))

    (photo,) = photos.shown(opened.db, "t-1")

    assert photo.id and edits.find(opened.db, photo.id)
    assert edits.life(opened.db).version >= edits.standing(opened.db, "t-1")[f"photos/{photo.id}"].at
    opened.close()


def columns(store: Store, table: str) -> list[tuple[str, str, int]]:
    return [(column.name, column.type, column.notnull) for column in store.db.table(table).columns]


def indexes(store: Store) -> set[str]:
    found = store.db.execute("select sql from sqlite_master where type = 'index' and sql is not null")
    return {" ".join(sql.split()) for (sql,) in found}


def test_without_a_backup_no_schema_is_changed(tmp_path: Path) -> None:
    folder = load(DUMPS[0], tmp_path / "shop")
    before = contents(folder / "tallyfret.db")
    (folder / "backups").write_text("in the way")
    with pytest.raises(StoreError, match="No backup could be made"):
        Store(folder)
    assert contents(folder / "tallyfret.db") == before
