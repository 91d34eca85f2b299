"""`tallyfret doctor`: each kind of trouble is found, and mended where that loses nothing."""

from __future__ import annotations

import os
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from uuid import uuid4

import pytest
from click.testing import CliRunner, Result

from intake.cli.main import main
from intake.operations import doctor as doctors
from intake.store import photos, tickets
from intake.store.backup.backup import back_up
from intake.store.db import Store

JPEG, PDF = b"\xff\xd8 a picture", b"%PDF a quote"
LONG_AGO = 1_700_000_000


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """A shop in order: a ticket with a photo and a quote, backed up just now."""
    store, now, id = Store(tmp_path / "shop"), datetime.now(UTC), str(uuid4())
    sha = photos.write(store.photos, JPEG)
    (store.quotes / f"{id}-1.pdf").write_bytes(PDF)
    with store.writing() as db:
        tickets.ensure(db, id, now)
        tickets.change(db, id, now, name="Ines Falk")
        photos.keep(db, id, sha, (4, 3), len(JPEG), now)
        db.table("books").insert({"digest": "d", "folder": b"", "loaded_at": ""})
        quote = dict.fromkeys(("made_at", "app_version", "walkin", "quote", "exact"), "")
        pdf = {"pdf_sha256": sha256(PDF).hexdigest(), "pdf_file": f"{id}-1.pdf"}
        db.table("quotes").insert({"ticket": id, "revision": 1, "book_digest": "d", **quote, **pdf})
    back_up(store.folder, store.backups, now, "asked")
    yield store
    store.close()


def doctor(store: Store, *arguments: str) -> Result:
    return CliRunner().invoke(main, ["--data", str(store.folder), "doctor", *arguments])


def finds(store: Store, sentence: str) -> None:
    told = doctor(store)
    assert told.exit_code == 1, told.output
    assert sentence in told.output


def mended(store: Store) -> None:
    assert doctor(store, "--mend").exit_code == 0
    assert doctor(store).output == "Nothing needs doing.\n"


def age(path: Path) -> Path:
    os.utime(path, (LONG_AGO, LONG_AGO))
    return path


def photo(store: Store) -> Path:
    (path,) = store.photos.glob("*.jpg")
    return path


def test_a_shop_in_order(store: Store) -> None:
    told = doctor(store)
    assert (told.exit_code, told.output) == (0, "Nothing needs doing.\n")


def test_a_missing_photo_comes_back_from_the_backup(store: Store) -> None:
    photo(store).unlink()
    finds(store, "is missing; a backup has it")
    mended(store)
    assert photo(store).read_bytes() == JPEG


def test_a_photo_gone_bad_comes_back_from_the_backup(store: Store) -> None:
    photo(store).write_bytes(b"\xff\xd8 b picture")
    finds(store, "its hash differs; a backup has it")
    mended(store)
    assert photo(store).read_bytes() == JPEG


def test_a_document_gone_bad_comes_back_too(store: Store) -> None:
    (pdf,) = store.quotes.glob("*.pdf")
    pdf.write_bytes(b"%PDF")
    finds(store, f"The quote {pdf} is not what was written")
    mended(store)
    assert pdf.read_bytes() == PDF


def test_what_no_backup_has_is_said_and_stays_said(store: Store) -> None:
    photo(store).unlink()
    for path in (store.backups / "files").glob("*/*"):
        path.unlink()
    finds(store, "and no backup in")
    assert doctor(store, "--mend").exit_code == 1


def test_files_without_a_ticket_are_set_aside_unless_they_are_new(store: Store) -> None:
    new, old = store.photos / f"{'1' * 64}.jpg", store.photos / f"{'2' * 64}.jpg"
    for path in (new, old):
        path.write_bytes(JPEG)
    age(old)
    finds(store, f"1 files in {store.photos} belong to no ticket, such as {old.name}")
    mended(store)
    assert new.exists()
    assert (store.folder / "orphans" / old.name).read_bytes() == JPEG


def test_the_other_paper_of_a_quote_is_no_orphan(store: Store) -> None:
    (pdf,) = store.quotes.glob("*.pdf")
    other = pdf.with_name(f"{pdf.stem}-a4.pdf")
    other.write_bytes(PDF)
    age(other)
    assert doctor(store).exit_code == 0


def test_halves_of_files_are_deleted(store: Store) -> None:
    half = store.photos / ".new-x1"
    half.write_bytes(b"\xff")
    age(half)
    finds(store, "were cut off while they were written")
    mended(store)
    assert not half.exists()


def test_an_index_that_lacks_a_ticket_is_written_anew(store: Store) -> None:
    with store.writing() as db:
        db.execute("delete from search")
        db.execute("insert into search (rowid, name) values (99, 'somebody')")
    finds(store, "search index does not hold every ticket")
    mended(store)
    assert tickets.board(store.db, "falk")


def test_a_row_without_its_ticket(store: Store) -> None:
    store.db.execute("PRAGMA foreign_keys = OFF")
    store.db.execute("delete from tickets")
    finds(store, "rows point at rows that are not there")


def test_a_damaged_file_names_the_backup(store: Store) -> None:
    store.close()
    with store.path.open("r+b") as file:
        file.seek(3 * 4096)
        file.write(b"\xaa" * 4096)
    finds(store, "restore")


def test_an_old_backup_and_none(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    later = datetime.now(UTC) + timedelta(days=9, hours=1)
    monkeypatch.setattr("intake.cli.backup.utc_now", lambda: later)
    finds(store, "is 9 days old")
    monkeypatch.undo()
    (store.folder / "tallyfret.toml").write_text('[backup]\nto = "elsewhere"')
    finds(store, "There is no backup in")


def test_a_backup_gone_bad(store: Store) -> None:
    (pooled,) = [path for path in (store.backups / "files").glob("*/*") if path.read_bytes() == JPEG]
    pooled.write_bytes(b"")
    finds(store, "The newest backup is not good")


def test_too_little_room(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doctors, "SPARE", 10**18)
    finds(store, "MB free; it should have")


def test_a_mail_password_that_others_may_read(store: Store) -> None:
    settings = store.folder / "mail.toml"
    settings.write_text('host = "a.example"\npassword = "s3cret"\n')
    settings.chmod(0o644)

    finds(store, "may read the mail password")

    mended(store)
    assert settings.stat().st_mode & 0o777 == 0o600


def test_a_file_of_a_newer_version_is_named(store: Store) -> None:
    with store.writing() as db:
        db.table("_sqlite_migrations").insert(
            {"migration_set": "tallyfret", "name": "of_tomorrow", "applied_at": "2030-01-01"}
        )

    finds(store, "was last used by a newer Tallyfret. Start that version, or restore a backup")
