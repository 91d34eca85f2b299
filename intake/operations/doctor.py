"""What is wrong with a shop's data, in plain sentences, and how to mend what can be mended safely.

Safe is what loses nothing: a good copy brought back from a backup, a file that nothing names set aside, an
index written anew.
"""

from __future__ import annotations

import shutil
import sqlite3
import time
import tomllib
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from sqlite_utils import Database

from intake.operations.backup_settings import BackupSettings, open_store
from intake.store import search
from intake.store.backup.archive import DATABASE, archives, damage, pool_path, uri
from intake.store.backup.restore_marker import unfinished
from intake.store.errors import typed
from intake.store.files import UNFINISHED, copy_durably, open_to_others, sha256_of
from intake.store.migrations.every import MIGRATIONS
from intake.store.opening import NEWER, is_newer, way_out
from intake.store.restore import REPLACED
from intake.store.scrubbing import is_unfinished, scrub

ORPHANS = "orphans"
MAIL_SETTINGS = "mail.toml"
SETTLED = 3600.0
"""Seconds after which a file that no row names is no upload under way."""
OLDEST_BACKUP = timedelta(days=2)
A_CLOCK_OFF = timedelta(minutes=5)
SPARE = 500_000_000


@dataclass(frozen=True)
class Finding:
    """One thing that needs doing; `mend` does it and says what it did, where that is safe."""

    says: str
    mend: Callable[[], str] | None = None


def examine(data: Path, settings: BackupSettings, now: datetime) -> Iterator[Finding]:
    """Everything that needs doing, the worst first."""
    command = unfinished(data)
    if command:
        yield Finding(f"A restore was cut off. Run it again: {command}")
        return
    broken = damage(data / DATABASE)
    for says in broken:
        yield Finding(f"{says} {way_out(data, settings.to)}")
    if not broken:
        with closing(sqlite3.connect(uri(data / DATABASE, "ro"), uri=True)) as db:
            yield from _schema(db, data / DATABASE)
            if _has_tables(db):
                yield from _photos(db, data, settings.to)
                yield from _documents(db, data, settings.to)
            yield from _index(db, data)
    if is_unfinished(data):
        yield Finding("What was erased last may still stand in the database's log.", lambda: _scrub(data))
    yield from _secrets(data / MAIL_SETTINGS)
    yield from _left_behind(data)
    yield from _room(data)
    yield from _backups(data, settings, now)


def _schema(db: sqlite3.Connection, path: Path) -> Iterator[Finding]:
    if is_newer(Database(db)):
        yield Finding(NEWER.format(path=path))
        return
    waiting = MIGRATIONS.pending(Database(db))
    if waiting:
        yield Finding(f"The file is {len(waiting)} changes behind this version; the next start makes them.")


def _has_tables(db: sqlite3.Connection) -> bool:
    """False where the first start ended before it had made them."""
    sql = "select count(*) from sqlite_master where name in ('photos', 'quotes')"
    return int(db.execute(sql).fetchone()[0]) == 2


def _photos(db: sqlite3.Connection, data: Path, backups: Path) -> Iterator[Finding]:
    rows = {f"{sha}.jpg": sha for (sha,) in db.execute("select distinct sha256 from photos")}
    for name, sha in sorted(rows.items()):
        yield from _kept(data / "photos" / name, sha, "photo", backups)
    yield from _orphans(data, "photos", lambda path: path.name in rows)


def _documents(db: sqlite3.Connection, data: Path, backups: Path) -> Iterator[Finding]:
    rows = db.execute("select pdf_file, pdf_sha256 from quotes where pdf_file <> ''").fetchall()
    for name, sha in sorted(rows):
        yield from _kept(data / "quotes" / name, sha, "quote", backups)
    stems = tuple(name.removesuffix(".pdf") for name, _ in rows)
    yield from _orphans(data, "quotes", lambda path: path.stem.startswith(stems))


def _kept(path: Path, sha256: str, what: str, backups: Path) -> Iterator[Finding]:
    """A file that a row names: is it there, and is it what was written?"""
    if path.is_file() and sha256_of(path) == sha256:
        return
    wrong = "is not what was written: its hash differs" if path.is_file() else "is missing"
    copy = pool_path(backups, sha256)
    if copy.is_file() and sha256_of(copy) == sha256:
        yield Finding(f"The {what} {path} {wrong}; a backup has it.", lambda: _bring_back(copy, path))
    else:
        yield Finding(f"The {what} {path} {wrong}, and no backup in {backups} has it.")


def _bring_back(copy: Path, path: Path) -> str:
    copy_durably(copy, path)
    return f"{path} is back from a backup."


def _orphans(data: Path, folder: str, named: Callable[[Path], bool]) -> Iterator[Finding]:
    found = [
        path
        for path in sorted((data / folder).glob("[!.]*"))
        if not named(path) and time.time() - path.stat().st_mtime > SETTLED
    ]
    if found:
        yield Finding(
            f"{len(found)} files in {data / folder} belong to no ticket, such as {found[0].name}.",
            lambda: _set_aside(found, data / ORPHANS),
        )


def _set_aside(found: list[Path], target: Path) -> str:
    target.mkdir(mode=0o700, exist_ok=True)
    for path in found:
        path.rename(target / path.name)
    return f"{len(found)} files are in {target} now; look at them, then delete that folder."


def _index(db: sqlite3.Connection, data: Path) -> Iterator[Finding]:
    if not db.execute("select 1 from sqlite_master where name = 'search'").fetchone():
        return
    sql = (
        "select count(*) from tickets where (name <> '' or phone <> '' or serial <> '')"
        " and number not in (select rowid from search)"
    )
    try:
        (unfound,) = db.execute(sql).fetchone()
    except sqlite3.DatabaseError:
        unfound = -1
    if unfound:
        yield Finding("The search index does not hold every ticket.", lambda: _write_index(data))


def _write_index(data: Path) -> str:
    store = open_store(data)
    with store.writing() as db:
        search.rebuild(db)
    store.close()
    return "The search index was written anew."


def _scrub(data: Path) -> str:
    """Opening the store finishes it, if nobody else holds the log."""
    store = open_store(data)
    done = scrub(store)
    store.close()
    return "It is gone now." if done else "Another program still holds it; stop that one, then try again."


def _secrets(settings: Path) -> Iterator[Finding]:
    """The mail settings are not used while others may read a password in them."""
    try:
        holds = settings.is_file() and "password" in tomllib.loads(settings.read_text("utf-8-sig"))
    except ValueError:  # whoever sends mail says what is wrong with it
        holds = False
    if holds and open_to_others(settings):
        says = f"Other users of this machine may read the mail password in {settings}, so no mail is sent."
        yield Finding(says, lambda: _close(settings))


def _close(path: Path) -> str:
    path.chmod(0o600)
    return f"{path} is for its user alone now; start the server again, and it sends mail."


def _left_behind(data: Path) -> Iterator[Finding]:
    for folder in (data / "photos", data / "quotes"):
        left = [
            path for path in folder.glob(f"{UNFINISHED}*") if time.time() - path.stat().st_mtime > SETTLED
        ]
        if left:
            yield Finding(
                f"{len(left)} files in {folder} were cut off while they were written.",
                lambda left=left: _delete(left),  # type: ignore[misc]
            )
    for path in sorted(data.glob(f"{REPLACED}*")):
        yield Finding(f"{path} holds what a restore replaced; delete it once nobody misses anything.")


def _delete(left: list[Path]) -> str:
    for path in left:
        path.unlink()
    return f"{len(left)} halves of files were deleted; no phone had been told that they were kept."


def _room(data: Path) -> Iterator[Finding]:
    free, needed = shutil.disk_usage(data).free, 2 * (data / DATABASE).stat().st_size + SPARE
    if free < needed:
        yield Finding(f"The disk of {data} has {free // 10**6} MB free; it should have {needed // 10**6}.")


def _backups(data: Path, settings: BackupSettings, now: datetime) -> Iterator[Finding]:
    newest, command = next(iter(archives(settings.to)), None), typed(data, "backup")
    if newest is None:
        yield Finding(f"There is no backup in {settings.to}. Make one: {command}")
        return
    for says in newest.problems()[:3]:
        yield Finding(f"The newest backup is not good. {says} Make another: {command}")
    age = now - newest.made
    if age < -A_CLOCK_OFF:
        yield Finding(f"The newest backup, {newest.folder}, is of a day to come: was the clock wrong?")
    if age > OLDEST_BACKUP:
        yield Finding(f"The newest backup in {settings.to} is {age.days} days old: {command}")
