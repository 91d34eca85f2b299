"""Keys, events, books, photos and files."""

from __future__ import annotations

import sqlite3
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from intake.config import demo_book
from intake.store import books, events, idempotency_keys, photos
from intake.store.db import Store
from intake.store.events import By
from intake.store.files import write_durably
from intake.store.idempotency_keys import Answer


def test_a_key_keeps_its_answer(store: Store, now: datetime) -> None:
    answer = Answer(422, b"\x00 bytes", {"Content-Type": "text/html"})
    with store.writing() as db:
        idempotency_keys.keep(db, "k", "hash", answer, now)
    assert idempotency_keys.find(store.db, "k") == ("hash", answer)
    assert idempotency_keys.find(store.db, "another") is None
    with pytest.raises(sqlite3.IntegrityError), store.writing() as db:
        idempotency_keys.keep(db, "k", "hash", answer, now)


def test_old_keys_are_forgotten(store: Store, now: datetime) -> None:
    with store.writing() as db:
        idempotency_keys.keep(db, "old", "hash", Answer(200, b"", {}), now - timedelta(days=91))
        idempotency_keys.keep(db, "new", "hash", Answer(200, b"", {}), now - timedelta(days=89))
        idempotency_keys.forget(db, now - timedelta(days=90))
    assert idempotency_keys.find(store.db, "old") is None
    assert idempotency_keys.find(store.db, "new") is not None


def test_events_keep_who_did_what_when(store: Store, ticket: str, now: datetime) -> None:
    with store.writing() as db:
        events.record(db, "step saved", now, ticket=ticket, by=By(device="d"), step="neck", revision=3)
    (event,) = events.of_ticket(store.db, ticket)
    assert event["at"] == "2026-11-25T15:00:00.000Z"
    assert (event["what"], event["device"]) == ("step saved", "d")
    assert event["detail"] == {"step": "neck", "revision": 3}


def test_a_book_comes_back_as_it_was(store: Store, now: datetime, tmp_path: Path) -> None:
    with store.writing() as db:
        books.keep(db, "digest", demo_book(), now)
        books.keep(db, "digest", tmp_path, now)
    target = tmp_path / "again"
    target.mkdir()
    books.unpack(store.db, "digest", target)
    for path in demo_book().rglob("*"):
        if path.is_file():
            assert (target / path.relative_to(demo_book())).read_bytes() == path.read_bytes()
    with pytest.raises(KeyError):
        books.unpack(store.db, "never seen", target)


def test_a_packed_book_depends_on_its_content_alone(tmp_path: Path) -> None:
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "jobs.csv").write_text("id\n")
    (tmp_path / "two" / ".swap").write_text("an editor's")
    assert books.packed(tmp_path / "one") == books.packed(tmp_path / "two")
    (tmp_path / "two" / "jobs.csv").write_text("id\nsetup\n")
    assert books.packed(tmp_path / "one") != books.packed(tmp_path / "two")


def test_a_photo_is_kept_once_for_each_ticket(store: Store, ticket: str, now: datetime) -> None:
    sha256 = photos.write(store.photos, b"jpeg")
    assert photos.write(store.photos, b"jpeg") == sha256
    with store.writing() as db:
        for _ in range(2):
            photos.keep(db, ticket, sha256, (4, 3), 4, now)
    (photo,) = photos.of_ticket(store.db, ticket)
    assert (photo.width, photo.height, photo.bytes) == (4, 3, 4)
    assert (store.photos / f"{sha256}.jpg").read_bytes() == b"jpeg"


def test_a_file_that_cannot_be_written_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "quote.pdf"
    write_durably(path, b"old")

    def full(descriptor: int) -> None:
        raise OSError("disk full")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="disk full"):
        write_durably(path, b"new")
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]
