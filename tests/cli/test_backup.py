"""`tallyfret backup` and `restore` as a person types them."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import pytest
from click.testing import CliRunner, Result

from intake.cli.main import main
from intake.store import people, photos, privacy, tickets
from intake.store.backup.archive import archives
from intake.store.backup.lock import SERVER_LOCK, held
from intake.store.db import Store

NOW = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A data folder with one customer's ticket."""
    folder = tmp_path / "shop"
    store = Store(folder)
    with store.writing() as db:
        id = str(uuid4())
        tickets.ensure(db, id, NOW)
        tickets.change(db, id, NOW, name="Ines Falk")
    store.close()
    return folder


def run(data: Path, *arguments: object) -> Result:
    return CliRunner().invoke(main, ["--data", str(data), *map(str, arguments)])


def names(data: Path) -> list[str]:
    store = Store(data)
    found = [ticket.name for ticket in tickets.board(store.db)]
    store.close()
    return found


def test_there_and_back(shop: Path, tmp_path: Path) -> None:
    made = run(shop, "backup", "--to", tmp_path / "stick")
    assert made.exit_code == 0, made.output
    (archive,) = archives(tmp_path / "stick")
    assert str(archive.folder) in made.stdout
    assert "was read back" in made.stdout
    back = run(tmp_path / "new", "restore", archive.folder)
    assert back.exit_code == 0, back.output
    assert names(tmp_path / "new") == ["Ines Falk"]


def test_the_settings_say_where(shop: Path, tmp_path: Path) -> None:
    (shop / "tallyfret.toml").write_text(f"[backup]\nto = '{tmp_path / 'disk'}'\n")
    assert run(shop, "backup").exit_code == 0
    assert len(archives(tmp_path / "disk")) == 1


def test_a_restore_has_to_be_told(shop: Path, tmp_path: Path) -> None:
    run(shop, "backup")
    (archive,) = archives(shop / "backups")
    refused = run(shop, "restore", archive.folder)
    assert refused.exit_code == 1
    assert "--force" in refused.stderr
    told = run(shop, "restore", archive.folder, "--force")
    assert told.exit_code == 0
    assert "replaced-" in told.stdout


def test_who_was_erased_since_stays_erased(shop: Path) -> None:
    run(shop, "backup")
    (archive,) = archives(shop / "backups")
    store = Store(shop)
    privacy.erase(store, privacy.find(store.db, "Ines Falk"), NOW)
    store.close()
    told = run(shop, "restore", archive.folder, "--force")
    assert "1 tickets whose customers were erased since were erased again" in told.stdout
    assert names(shop) == [""]


def test_a_missing_photo_is_told(shop: Path) -> None:
    store = Store(shop)
    with store.writing() as db:
        row = {"sha256": "0" * 64, "ticket": tickets.board(db)[0].id, "kind": "", "width": 1, "height": 1}
        db.table("photos").insert({**row, "bytes": 1, "created": "2026-11-25T15:00:00.000Z"})
    store.close()
    made = run(shop, "backup")
    assert made.exit_code == 1
    assert "1 files are missing" in made.stderr


def test_a_taken_folder_is_named_with_who_has_it(shop: Path) -> None:
    with held(shop / SERVER_LOCK, "the server on 127.0.0.1, port 8642"):
        refused = run(shop, "serve", "--port", 0)
    assert refused.exit_code == 2
    assert "is in use by the server on 127.0.0.1, port 8642, process" in refused.stderr


def test_a_damaged_file_names_the_backup_and_the_command(shop: Path) -> None:
    run(shop, "backup")
    (archive,) = archives(shop / "backups")
    with (shop / "tallyfret.db").open("r+b") as file:
        file.seek(3 * 4096)
        file.write(b"\xaa" * 4096)
    refused = run(shop, "serve", "--port", 0)
    assert refused.exit_code == 2
    command = f"tallyfret --data {shop} restore {archive.folder} --force"
    assert "is damaged" in refused.stderr
    assert command in refused.stderr
    assert run(shop, *command.split()[3:]).exit_code == 0
    assert names(shop) == ["Ines Falk"]


@pytest.mark.parametrize("harm", [Path.unlink, lambda path: path.write_bytes(b"")])
def test_a_shop_whose_database_is_gone_is_not_begun_anew(harm: Callable[[Path], object], shop: Path) -> None:
    photos.write(shop / "photos", b"\xff\xd8 a picture")
    run(shop, "backup")
    (archive,) = archives(shop / "backups")
    harm(shop / "tallyfret.db")
    for command, *rest in (["serve", "--port", 0], ["doctor"], ["backup"], ["staff", "list"]):
        told = run(shop, command, *rest)
        assert told.exit_code != 0 and "tallyfret.db is gone" in told.stderr
        assert f"restore {archive.folder} --force" in told.stderr
    assert [each.folder for each in archives(shop / "backups")] == [archive.folder]
    assert run(shop, "restore", archive.folder, "--force").exit_code == 0
    assert names(shop) == ["Ines Falk"]


@pytest.mark.parametrize(
    "command",
    [["export", "OUT"], ["customer", "erase", "Ines Falk"], ["staff", "list"], ["book", "export", "OUT"]],
)
def test_every_command_says_it_in_a_sentence(command: list[str], shop: Path, tmp_path: Path) -> None:
    """With the way out, also where the backups lie elsewhere."""
    (shop / "tallyfret.toml").write_text(f"[backup]\nto = '{tmp_path / 'disk'}'\n")
    run(shop, "backup")
    (archive,) = archives(tmp_path / "disk")
    (shop / "tallyfret.db").write_bytes(b"this is not a database" * 1000)
    told = run(shop, *command)
    assert told.exit_code in (1, 2) and "is damaged" in told.stderr and "Traceback" not in told.output
    assert f"restore {archive.folder} --force" in told.stderr


def test_a_database_that_is_held_is_said_in_a_sentence(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def held_by_another(db: object) -> None:
        raise sqlite3.OperationalError("database is locked")

    monkeypatch.setattr(people, "everybody", held_by_another)
    told = run(shop, "staff", "list")
    assert told.exit_code == 2 and "cannot be used now: database is locked." in told.stderr


def test_the_doctor_looks_at_a_shop_whose_first_start_was_cut_off(tmp_path: Path) -> None:
    tmp_path.joinpath("tallyfret.db").touch()
    told = run(tmp_path, "doctor")
    assert told.exit_code == 1 and "the next start makes them" in told.stdout


@pytest.mark.parametrize("words", [["backup", "--data", "SHOP"], ["staff", "list", "--data=SHOP"]])
def test_the_data_folder_is_taken_wherever_it_is_written(words: list[str], shop: Path) -> None:
    told = CliRunner().invoke(main, [word.replace("SHOP", str(shop)) for word in words])
    assert told.exit_code == 0, told.output


def test_a_file_of_a_newer_version_is_left_alone(shop: Path) -> None:
    store = Store(shop)
    with store.writing() as db:
        row = {"migration_set": "tallyfret", "name": "from_tomorrow", "applied_at": "2027-01-01"}
        db.table("_sqlite_migrations").insert(row)
    store.close()
    refused = run(shop, "serve", "--port", 0)
    assert "a newer Tallyfret" in refused.stderr


def test_no_shop_no_backup(tmp_path: Path) -> None:
    assert "holds no shop" in run(tmp_path, "backup").stderr
