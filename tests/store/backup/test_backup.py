"""Backups: whole, read back, kept by the rule; and put back."""

from __future__ import annotations

import shlex
import shutil
import sqlite3
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.store import edits, handed_out, photos, privacy, tickets
from intake.store.backup import restore_marker
from intake.store.backup.archive import Archive, archives, damage, newest_good, pool_files
from intake.store.backup.backup import back_up
from intake.store.backup.lock import SERVER_LOCK, held
from intake.store.backup.retention import Rule
from intake.store.db import Store
from intake.store.errors import StoreError
from intake.store.opening import shop_in
from intake.store.restore import Restored, restore

JPEG = b"\xff\xd8 not much of a picture"


@pytest.fixture
def backups(tmp_path: Path) -> Path:
    return tmp_path / "stick"


@pytest.fixture
def photo(store: Store, ticket: str, now: datetime) -> str:
    return take(store, ticket, now, JPEG)


def take(store: Store, ticket: str, now: datetime, jpeg: bytes) -> str:
    sha = photos.write(store.photos, jpeg)
    with store.writing() as db:
        photos.keep(db, ticket, sha, (4, 3), len(jpeg), now)
    return sha


def make(store: Store, backups: Path, now: datetime, why: str = "asked", rule: Rule | None = None) -> Archive:
    return back_up(store.folder, backups, now, why, rule)


def rows(folder: Path) -> list[str]:
    """All that a store holds, but which life of the shop it is."""
    db = sqlite3.connect(folder / "tallyfret.db")
    found = [said for said in db.iterdump() if not said.startswith('INSERT INTO "lives"')]
    db.close()
    return found


def test_a_restored_backup_is_the_shop_again(
    store: Store, photo: str, backups: Path, now: datetime, tmp_path: Path
) -> None:
    (store.quotes / "1-1.pdf").write_bytes(b"%PDF")
    (store.folder / "mail.toml").write_text('host = "localhost"')
    archive = make(store, backups, now)
    assert archive.problems() == []
    new = tmp_path / "new machine"
    assert restore(archive, new, now) == Restored(None, ())
    assert rows(new) == rows(store.folder)
    for name in (f"photos/{photo}.jpg", "quotes/1-1.pdf", "mail.toml"):
        assert (new / name).read_bytes() == (store.folder / name).read_bytes()
    again = Store(new)
    assert again.db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    again.close()


def test_a_store_that_was_set_back_says_so_by_its_epoch(store: Store, backups: Path, now: datetime) -> None:
    """Phones send again what they keep."""
    before = edits.life(store.db)
    archive = make(store, backups, now)
    store.close()

    restore(archive, store.folder, now, force=True)

    again = Store(store.folder)
    after = edits.life(again.db)
    assert after.epoch != before.epoch and after.version == before.version
    again.close()


def test_two_restores_of_one_backup_are_two_lives(
    store: Store, backups: Path, now: datetime, tmp_path: Path
) -> None:
    archive = make(store, backups, now)
    epochs = set()
    for name in ("one", "two"):
        restore(archive, tmp_path / name, now)
        opened = Store(tmp_path / name)
        epochs.add(edits.life(opened.db).epoch)
        opened.close()

    assert len(epochs) == 2


def test_a_verified_backup_tells_the_store_what_it_holds(
    store: Store, ticket: str, backups: Path, now: datetime
) -> None:
    with store.writing() as db:
        held = edits.add(db, edits.Row("e-1", ticket, "relief", "0.008 in"), now)
    assert edits.life(store.db).backed_up == 0
    make(store, backups, now)
    with store.writing() as db:
        edits.add(db, edits.Row("e-2", ticket, "relief", "0.012 in"), now)

    assert edits.life(store.db).backed_up == held.at


def test_a_backup_that_cannot_be_read_back_tells_nothing(
    store: Store, ticket: str, backups: Path, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    with store.writing() as db:
        edits.add(db, edits.Row("e-1", ticket, "relief", "0.008 in"), now)
    monkeypatch.setattr(Archive, "problems", lambda self, **_: ["It is damaged."])

    with pytest.raises(StoreError):
        make(store, backups, now)

    assert edits.life(store.db).backed_up == 0


def test_a_backup_among_writers_is_one_moment(store: Store, backups: Path, now: datetime) -> None:
    """Two tickets are written at a time: no backup holds an odd number."""

    def write(_: int) -> None:
        with store.writing() as db:
            for _ in range(2):
                tickets.ensure(db, str(uuid4()), now)

    with ThreadPoolExecutor(4) as threads:
        writing = [threads.submit(write, number) for number in range(60)]
        made = [make(store, backups, now + timedelta(seconds=second)) for second in range(4)]
        for done in writing:
            done.result()
    counts = [sqlite3.connect(archive.database).execute("select count(*) from tickets") for archive in made]
    assert all(found.fetchone()[0] % 2 == 0 for found in counts)


def test_a_file_that_stays_is_kept_once_and_goes_with_its_last_backup(
    store: Store, ticket: str, photo: str, backups: Path, now: datetime
) -> None:
    for day in range(3):
        make(store, backups, now + timedelta(days=day), rule=Rule())
    assert [path.name for path in pool_files(backups)] == [photo]
    with store.writing() as db:
        db.table("photos").delete_where()
    (store.photos / f"{photo}.jpg").unlink()
    make(store, backups, now + timedelta(days=9), rule=Rule(daily=1, weekly=0, monthly=0))
    assert len(archives(backups)) == 1
    assert list(pool_files(backups)) == []


def test_a_folder_may_be_called_as_people_call_folders(
    photo: str, store: Store, now: datetime, tmp_path: Path
) -> None:
    """SQLite's addresses know #, ? and % as signs of their own."""
    odd = tmp_path / "Shop #2 100%41 ?"
    shutil.copytree(store.folder, odd / "data")
    archive = back_up(odd / "data", odd / "backups", now, "asked")
    assert archive.problems() == [] and rows(archive.folder) == rows(odd / "data")
    with archive.database.open("r+b") as file:
        file.seek(3 * 4096)
        file.write(b"\xaa" * 4096)
    assert damage(archive.database)


def test_half_a_restore_is_named_and_never_backed_up(store: Store, now: datetime, tmp_path: Path) -> None:
    data = store.folder
    restore_marker.begin(data, tmp_path / "a stick", "--without-damaged")
    named = ["--data", str(data), "restore", str(tmp_path / "a stick"), "--force", "--without-damaged"]
    assert shlex.split(restore_marker.unfinished(data)) == ["tallyfret", *named]
    with pytest.raises(StoreError, match="was cut off"):
        shop_in(data)
    with pytest.raises(StoreError, match="was cut off"):
        back_up(data, tmp_path / "backups", now, "asked")
    assert not (tmp_path / "backups").exists()


def test_what_cannot_be_read_back_is_no_backup(
    store: Store, backups: Path, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Archive, "problems", lambda self: ["a bad sector"])
    with pytest.raises(StoreError, match=r"is no backup\. a bad sector"):
        make(store, backups, now)
    assert archives(backups) == []


def test_papers_of_what_was_there_go_aside_too(store: Store, backups: Path, now: datetime) -> None:
    """Their numbers are given out again."""
    archive = make(store, backups, now)
    paper = store.folder / "printed" / "1" / "receipt.pdf"
    paper.parent.mkdir(parents=True)
    paper.write_bytes(b"%PDF")
    store.close()
    aside = restore(archive, store.folder, now, force=True).aside
    assert aside and (aside / "printed" / "1" / "receipt.pdf").is_file() and not paper.exists()


def test_who_was_erased_stays_so_though_a_restore_was_cut_off(
    store: Store, ticket: str, backups: Path, now: datetime
) -> None:
    """The second try finds no database in its way: it lies in what the first had set aside."""
    with store.writing() as db:
        tickets.change(db, ticket, now, name="Ines Falk")
    archive = make(store, backups, now)
    privacy.erase(store, [ticket], now)
    store.close()
    first = store.folder / "replaced-2026-01-01T000000"
    first.mkdir()
    for path in list(store.folder.glob("tallyfret.db*")):
        path.rename(first / path.name)
    restore_marker.begin(store.folder, archive.folder)
    assert restore(archive, store.folder, now, force=True).erased_again == 1
    again = Store(store.folder)
    found = tickets.find(again.db, ticket)
    assert found and (found.name, found.state) == ("", "erased")
    again.close()
    assert not (store.folder / "backups").exists() and not restore_marker.unfinished(store.folder)


def test_a_copy_gone_bad_is_found_and_mended_by_the_next_backup(
    store: Store, photo: str, backups: Path, now: datetime
) -> None:
    archive = make(store, backups, now)
    (pooled,) = pool_files(backups)
    pooled.write_bytes(b"\xff" * len(JPEG))
    assert "hash differs" in archive.problems()[0]
    new = store.folder.with_name("new")
    with pytest.raises(StoreError, match=r"hash differs.* All the rest can, with --without-damaged"):
        restore(archive, new, now)
    assert not new.exists()
    assert restore(archive, new, now, without_damaged=True).left_out == (f"photos/{photo}.jpg",)
    assert rows(new) == rows(store.folder) and not list((new / "photos").iterdir())
    make(store, backups, now + timedelta(days=1))
    assert archive.problems() == []


def test_a_missing_photo_is_named(store: Store, photo: str, backups: Path, now: datetime) -> None:
    (store.photos / f"{photo}.jpg").unlink()
    assert make(store, backups, now).manifest().missing == (f"photos/{photo}.jpg",)


def test_a_damaged_archive_is_passed_over(store: Store, ticket: str, backups: Path, now: datetime) -> None:
    good = make(store, backups, now)
    bad = make(store, backups, now + timedelta(days=1))
    with bad.database.open("r+b") as file:
        file.seek(5000)
        file.write(b"\xaa" * 200)
    assert newest_good(backups) == good


def test_what_cannot_be_read_is_not_thinned_out(
    store: Store, photo: str, backups: Path, now: datetime
) -> None:
    old = make(store, backups, now)
    (old.folder / "manifest.json").write_text("{")
    make(store, backups, now + timedelta(days=1), rule=Rule(1, 0, 0))
    assert len(archives(backups)) == 2
    assert list(pool_files(backups))


def test_a_backup_that_was_cut_off_leaves_nothing_that_counts(
    store: Store, backups: Path, now: datetime
) -> None:
    left = backups / ".new-backup"
    left.mkdir(parents=True)
    (left / "tallyfret.db").write_bytes(b"half")
    assert archives(backups) == []
    make(store, backups, now)
    assert not left.exists()


def test_two_backups_at_once(store: Store, backups: Path, now: datetime) -> None:
    backups.mkdir()
    with held(backups / ".lock", "a backup"), pytest.raises(StoreError, match="in use by a backup, process"):
        make(store, backups, now)


def test_a_restore_does_not_overwrite_without_being_told(
    store: Store, ticket: str, photo: str, backups: Path, now: datetime
) -> None:
    archive = make(store, backups, now)
    with store.writing() as db:
        tickets.change(db, ticket, now, name="Ines Falk")
    store.close()
    before = rows(store.folder)
    with pytest.raises(StoreError, match="say --force"):
        restore(archive, store.folder, now)
    assert rows(store.folder) == before
    aside = restore(archive, store.folder, now, force=True).aside
    assert aside is not None
    assert rows(aside) == before
    assert rows(store.folder) != before
    assert (store.photos / f"{photo}.jpg").read_bytes() == JPEG


def test_no_restore_under_a_running_server(store: Store, backups: Path, now: datetime) -> None:
    archive = make(store, backups, now)
    with (
        held(store.folder / SERVER_LOCK, "the server on 127"),
        pytest.raises(StoreError, match="the server on 127, process"),
    ):
        restore(archive, store.folder, now, force=True)


def test_a_restore_that_was_cut_off_lets_nobody_in_and_can_be_run_again(
    store: Store, ticket: str, backups: Path, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    archive = make(store, backups, now)
    store.close()
    renames, rename = [0], Path.rename

    def breaking(self: Path, target: Path) -> Path:
        renames[0] += 1
        if renames[0] == 2:
            raise OSError(5, "Input/output error")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", breaking)
    with pytest.raises(StoreError, match="could not be finished"):
        restore(archive, store.folder, now, force=True)
    monkeypatch.undo()
    with pytest.raises(StoreError, match=r"was cut off\. Run it again: tallyfret"):
        Store(store.folder)
    restore(archive, store.folder, now + timedelta(seconds=1), force=True)
    again = Store(store.folder)
    assert tickets.find(again.db, ticket)
    again.close()


@pytest.mark.parametrize(
    "name",
    ["../../elsewhere.jpg", "C:evil.toml", "photos/\\u0000.jpg", "photos/a/b.jpg", "quotes/..", "x.exe"],
)
def test_a_manifest_reaches_no_other_folder(
    store: Store, photo: str, backups: Path, now: datetime, name: str
) -> None:
    archive = make(store, backups, now)
    path = archive.folder / "manifest.json"
    path.write_text(path.read_text().replace(f"photos/{photo}.jpg", name))
    with pytest.raises(StoreError, match="no backup of Tallyfret holds"):
        restore(archive, store.folder.with_name("new"), now)


def test_a_manifest_that_no_program_writes_is_damaged(store: Store, backups: Path, now: datetime) -> None:
    archive = make(store, backups, now)
    (archive.folder / "manifest.json").write_text("[" * 200_000)

    with pytest.raises(StoreError, match="its manifest is damaged"):
        archive.manifest()


DAY_ONE = datetime(2026, 1, 1, 2, 30, tzinfo=UTC)


def test_a_year_of_nights_under_the_usual_rule() -> None:
    made: set[datetime] = set()
    for day in range(365):
        made = Rule().kept(made | {DAY_ONE + timedelta(day)})
    ages = [(max(made) - moment).days for moment in sorted(made, reverse=True)]
    assert ages[:7] == [0, 1, 2, 3, 4, 5, 6]
    assert len(made) <= 7 + 4 + 12
    assert len({(moment.year, moment.month) for moment in made}) == 12


@given(st.lists(st.integers(0, 4000), min_size=1, max_size=40), st.integers(0, 9), st.integers(0, 9))
def test_the_rule_keeps_the_newest_and_no_more_than_it_says(
    hours: list[int], daily: int, monthly: int
) -> None:
    made = {DAY_ONE + timedelta(hours=hour) for hour in hours}
    kept = Rule(daily, 0, monthly).kept(made)
    assert kept <= made
    assert max(made) in kept
    assert len(kept) <= max(1, daily + monthly)
    assert Rule(daily, 0, monthly).kept(kept) == kept


@pytest.mark.parametrize("harm", [Path.unlink, lambda path: path.write_bytes(b"\xff\xd8 another")])
def test_a_photo_lost_since_is_not_lost_from_the_backups(
    harm: Callable[[Path], object], store: Store, photo: str, backups: Path, now: datetime, tmp_path: Path
) -> None:
    """The day's newer backup replaces the one that knew the photo, and has to keep it."""
    make(store, backups, now)
    harm(store.photos / f"{photo}.jpg")
    newer = make(store, backups, now + timedelta(hours=1), rule=Rule())
    assert [archive.folder for archive in archives(backups)] == [newer.folder]
    assert newer.manifest().missing == (f"photos/{photo}.jpg",)
    restore(newer, tmp_path / "new", now)
    assert (tmp_path / "new" / "photos" / f"{photo}.jpg").read_bytes() == JPEG


def test_an_archive_that_was_carried_off_alone_says_what_it_lacks(
    store: Store, photo: str, backups: Path, now: datetime, tmp_path: Path
) -> None:
    archive = make(store, backups, now)
    alone = Archive(archive.folder.rename(tmp_path / archive.folder.name))
    with pytest.raises(StoreError, match="which stood beside the backup"):
        restore(alone, tmp_path / "new", now)
    assert not (tmp_path / "new").exists()


def test_a_stick_that_is_not_plugged_in_is_not_made_up(store: Store, now: datetime, tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="Is its disk plugged in"):
        make(store, tmp_path / "stick" / "shop", now)
    assert not (tmp_path / "stick").exists()


def test_what_was_handed_out_or_agreed_after_the_backup_is_listed(
    store: Store, ticket: str, backups: Path, now: datetime
) -> None:
    with store.writing() as db:
        db.table("books").insert({"digest": "d", "folder": b"", "loaded_at": "2026-11-25"})
        keep_quote(db, ticket, 1)
        keep_quote(db, ticket, 2)
    archive = make(store, backups, now)
    with store.writing() as db:
        keep_quote(db, ticket, 3)
        yes = {"ticket": ticket, "revision": 2, "kind": "goahead", "at": "2026-11-26"}
        others = ("way", "name", "words", "signature", "quote_sha256", "jobs", "offer", "total", "currency")
        rest = ("deposit", "ready", "who")
        db.table("answers").insert({**yes, **dict.fromkeys([*others, *rest], ""), "link": 0})
    store.close()

    done = restore(archive, store.folder, now, force=True)

    assert [(one.revision, one.agreed) for one in done.handed_out] == [(2, True), (3, False)]
    assert [(one.revision, one.agreed) for one in handed_out.listed(store.folder)] == [(2, True), (3, False)]
    restore(archive, store.folder, now, force=True)
    assert len(handed_out.listed(store.folder)) == 2  # what is not dealt with stays


def keep_quote(db: Any, ticket: str, revision: int) -> None:
    made = {"ticket": ticket, "revision": revision, "made_at": f"2026-11-25T15:0{revision}:00.000Z"}
    text = ("app_version", "walkin", "quote", "exact", "pdf_sha256", "pdf_file")
    db.table("quotes").insert({**made, "book_digest": "d", **dict.fromkeys(text, "")})
