"""Backups: made while the shop works, read back once written, and kept by a rule."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

from intake.store.backup.archive import (
    BOOK,
    DATABASE,
    MANIFEST,
    NAMED,
    Archive,
    Held,
    Manifest,
    archives,
    pool_files,
    pool_path,
    uri,
    wrong,
)
from intake.store.backup.lock import held
from intake.store.backup.restore_marker import refuse_half
from intake.store.backup.retention import Rule
from intake.store.errors import StoreError, typed
from intake.store.files import UNFINISHED, copy_durably, sha256_of, sync_file, sync_folder, write_durably
from intake.store.timestamps import stamp

FOLDERS = ("photos", "quotes")
SETTINGS = "*.toml"
NEWEST_BOOK = "select folder from books order by loaded_at desc limit 1"
BY_RULE = ("asked", "scheduled")
BESIDES_KEPT = 3
"""How many of those made before an update stay, whatever the rule says."""


def back_up(data: Path, backups: Path, now: datetime, why: str, rule: Rule | None = None) -> Archive:
    """Make a backup of the data folder and verify it; then remove those that the rule does not keep.

    The shop may go on working: the database is copied at one moment, and photos and PDFs never change.
    Raises StoreError, also if what was written cannot be read back; then nothing has been removed.
    """
    refuse_half(data)
    try:
        _make_folder(backups)
        with held(backups / ".lock", "a backup"):
            archive = _make(data, backups, now, why)
            _tell_store(data / DATABASE, archive)
            if rule:
                _thin_out(backups, rule, archive)
            return archive
    except OSError as error:
        raise StoreError(f"No backup could be made in {backups}: {error.strerror or error}.") from error
    except sqlite3.Error as error:
        raise StoreError(
            f"No backup could be made of {data / DATABASE}: {error}."
            f" What can be done says: {typed(data, 'doctor')}"
        ) from error


def _make_folder(backups: Path) -> None:
    """Nothing above it: where a stick is not plugged in, a folder in its place is no backup."""
    if not backups.parent.is_dir():
        raise StoreError(
            f"No backup could be made in {backups}: {backups.parent} is not there. Is its disk plugged in?"
            " If it is meant to be an ordinary folder, make it first."
        )
    backups.mkdir(mode=0o700, exist_ok=True)


def _make(data: Path, backups: Path, now: datetime, why: str) -> Archive:
    name = now.astimezone(UTC).strftime(NAMED) + f".{now.microsecond // 1000:03}Z"
    with _unfinished(backups) as folder:
        copy_database(data / DATABASE, folder / DATABASE)
        own = {DATABASE: _held(folder / DATABASE), **_newest_book(folder)}
        found, wanted = dict(_pooled(data, backups)), dict(_named(folder / DATABASE))
        missing = tuple(sorted(name for name, sha in wanted.items() if _differs(found.get(name), sha)))
        found |= {name: held for name in missing if (held := _kept_before(wanted[name], backups))}
        manifest = Manifest(stamp(now), why, version("tallyfret"), own, found, missing)
        write_durably(folder / MANIFEST, manifest.text().encode())
        _verify(Archive(folder))
        folder.rename(backups / name)
    sync_folder(backups)
    return Archive(backups / name)


def _tell_store(database: Path, archive: Archive) -> None:
    """Which version the backup holds, so that phones may forget what they keep for a store that is set back.
    A store that is busy is told by the next one."""
    with suppress(sqlite3.OperationalError):  # busy, or from before there were versions
        with closing(sqlite3.connect(uri(archive.database, "ro"), uri=True)) as db:
            life = db.execute("select epoch, version from lives").fetchone()
        if life is None:  # a store whose first start was cut off
            return
        epoch, version = life
        with closing(sqlite3.connect(uri(database, "rw"), uri=True)) as db, db:
            done = "update lives set backed_up = max(backed_up, ?) where epoch = ?"
            db.execute(done, [version, epoch])


def copy_database(source: Path, target: Path) -> None:
    """A consistent copy of a database in use; it is not in WAL mode. Raises sqlite3.Error."""
    with closing(sqlite3.connect(uri(source, "rw"), uri=True)) as db:
        db.execute("VACUUM INTO ?", [str(target)])
    target.chmod(0o600)
    sync_file(target)


def _newest_book(folder: Path) -> dict[str, Held]:
    """The price book that was loaded last, so that it can be had without this program."""
    with closing(sqlite3.connect(folder / DATABASE)) as db:
        found = _has(db, "books") and db.execute(NEWEST_BOOK).fetchone()
    if not found:
        return {}
    write_durably(folder / BOOK, found[0])
    return {BOOK: _held(folder / BOOK)}


def _named(database: Path) -> Iterator[tuple[str, str]]:
    """The files that the database speaks of, by their path in the data folder, and their SHA-256."""
    with closing(sqlite3.connect(database)) as db:
        if _has(db, "photos"):
            photos = db.execute("select distinct sha256 from photos")
            yield from ((f"photos/{sha}.jpg", sha) for (sha,) in photos)
        if _has(db, "quotes"):
            quotes = db.execute("select pdf_file, pdf_sha256 from quotes where pdf_file <> ''")
            yield from ((f"quotes/{name}", sha) for name, sha in quotes)


def _differs(found: Held | None, sha256: str) -> bool:
    return found is None or found.sha256 != sha256


def _kept_before(sha256: str, backups: Path) -> Held | None:
    """The file as an earlier backup kept it: this one may be the last that knows where it belongs."""
    path = pool_path(backups, sha256)
    return found if path.is_file() and (found := _held(path)).sha256 == sha256 else None


def _has(db: sqlite3.Connection, table: str) -> bool:
    return db.execute("select 1 from sqlite_master where name = ?", [table]).fetchone() is not None


def _files(data: Path) -> Iterator[Path]:
    for folder in FOLDERS:
        yield from sorted(path for path in (data / folder).glob("[!.]*") if path.is_file())
    yield from sorted(data.glob(SETTINGS))


def _pooled(data: Path, backups: Path) -> Iterator[tuple[str, Held]]:
    for path in _files(data):
        with suppress(FileNotFoundError):  # a customer was erased just now
            yield path.relative_to(data).as_posix(), _pool(path, backups)


def _pool(path: Path, backups: Path) -> Held:
    """Have the file in the pool, whole: a copy there that has gone bad is written anew."""
    found = _held(path)
    pooled = pool_path(backups, found.sha256)
    if wrong(pooled, found):
        pooled.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        copy_durably(path, pooled)
    return found


def _held(path: Path) -> Held:
    return Held(sha256_of(path), path.stat().st_size)


def _verify(archive: Archive) -> None:
    problems = archive.problems()
    if problems:
        raise StoreError("What was written cannot be read back, and is no backup. " + " ".join(problems[:3]))


@contextmanager
def _unfinished(backups: Path) -> Iterator[Path]:
    """A folder that is renamed once it is whole; what earlier ones left behind is removed."""
    for left in backups.glob(f"{UNFINISHED}*"):
        shutil.rmtree(left)
    folder = backups / f"{UNFINISHED}backup"
    folder.mkdir(mode=0o700)
    try:
        yield folder
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise


def _thin_out(backups: Path, rule: Rule, newest: Archive) -> None:
    try:
        _remove_older(backups, rule, newest)
    except OSError as error:
        raise StoreError(
            f"{newest.folder} was made and read back, but older backups could not be removed: {error}."
        ) from error


def _remove_older(backups: Path, rule: Rule, newest: Archive) -> None:
    """Remove what the rule does not keep. What cannot be read is nobody's to remove, nor are its files."""
    whys = {archive: _why(archive) for archive in archives(backups)}
    by_rule = [archive for archive, why in whys.items() if why in BY_RULE]
    besides = [archive for archive, why in whys.items() if why and why not in BY_RULE]
    stays = rule.kept(archive.made for archive in by_rule)
    gone = [archive for archive in by_rule if archive.made not in stays] + besides[BESIDES_KEPT:]
    for archive in gone:
        if archive != newest:
            _remove(archive)
    if all(whys.values()):
        _empty_pool(backups)


def _why(archive: Archive) -> str:
    try:
        return archive.manifest().why
    except StoreError:
        return ""


def _remove(archive: Archive) -> None:
    old = archive.folder.rename(archive.folder.with_name(f"{UNFINISHED}gone"))
    shutil.rmtree(old)


def _empty_pool(backups: Path) -> None:
    """Remove the files that no backup names any more."""
    stay = archives(backups)
    named = {held.sha256 for archive in stay for held in archive.manifest().files.values()}
    for path in pool_files(backups):
        if path.name not in named:
            path.unlink()
