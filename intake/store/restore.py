"""A backup put back in the place of what is there, which is set aside and never deleted."""

from __future__ import annotations

import re
import shutil
import sqlite3
from collections.abc import Collection, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

from intake.store.backup import restore_marker
from intake.store.backup.archive import DATABASE, MANIFEST, NAMED, POOL, Archive, Manifest
from intake.store.backup.lock import SERVER_LOCK, held
from intake.store.db import Store
from intake.store.edits import begin_anew
from intake.store.errors import StoreError
from intake.store.files import copy_durably, sync_file, sync_folder
from intake.store.handed_out import HandedOut, add_to_list, handed_out_since
from intake.store.reapply_erasures import erase_again, erased_in

STAGE = ".restore"
REPLACED = "replaced-"
WITHOUT_DAMAGED = "--without-damaged"
SPARE = 64 * 1024 * 1024
HELD_NAME = re.compile(r"photos/[\w-]+\.jpg|quotes/[\w-]+\.pdf|[\w-]+\.toml")
"""What a backup holds beside the database."""


@dataclass(frozen=True)
class Restored:
    """Where the former content went, if there was any, which files were left out, how many tickets were
    erased again (a customer who was erased since the backup was made does not come back), and what was handed
    out or agreed since."""

    aside: Path | None
    left_out: tuple[str, ...] = ()
    erased_again: int = 0
    handed_out: tuple[HandedOut, ...] = ()


def restore(
    archive: Archive, data: Path, now: datetime, *, force: bool = False, without_damaged: bool = False
) -> Restored:
    """Put the backup into the data folder.

    The backup is verified before anything is touched; `without_damaged` leaves out photos, PDFs and
    settings that are not what was written. Raises StoreError: damaged, no room, the folder in use by a
    server, or not empty and `force` not given.
    """
    archive = Archive(archive.folder.resolve())
    pool = archive.folder.parent / POOL
    wanted = (archive.folder / MANIFEST).is_file() and archive.manifest().files
    if wanted and not pool.is_dir() and not without_damaged:
        raise StoreError(
            f"Nothing was changed. Photos and quotes lie in {POOL}/, which stood beside the backup: "
            f"bring it here too, as {pool}."
        )
    if problems := archive.problems(files=False):
        raise StoreError("Nothing was changed. " + " ".join(problems[:3]))
    spoiled = archive.spoiled()
    if spoiled and not without_damaged:
        raise StoreError(
            f"Nothing was changed. {len(spoiled)} of its files cannot be brought back:"
            f" {' '.join(list(spoiled.values())[:3])} All the rest can, with {WITHOUT_DAMAGED}."
        )
    try:
        data.mkdir(mode=0o700, parents=True, exist_ok=True)
        with held(data / SERVER_LOCK, "a restore"):
            manifest = archive.manifest()
            _refuse(archive, manifest, data, force)
            try:
                _stage(archive, manifest, data / STAGE, spoiled)
                again = _erase_again(data, now)
            except BaseException:
                shutil.rmtree(data / STAGE, ignore_errors=True)
                raise
            restore_marker.begin(data, archive.folder, *([WITHOUT_DAMAGED] if without_damaged else []))
            handed_out = handed_out_since(data / DATABASE, data / STAGE / DATABASE)
            add_to_list(data, handed_out)
            aside = _swap(data, now)
            restore_marker.end(data)
            return Restored(aside, tuple(spoiled), again, handed_out)
    except OSError as error:
        raise StoreError(f"The restore could not be finished: {error.strerror or error}.") from error


def _refuse(archive: Archive, manifest: Manifest, data: Path, force: bool) -> None:
    if any(_present(data)) and not force and not restore_marker.unfinished(data):
        raise StoreError(
            f"{data} holds a shop's data already, and nothing was changed. To put the backup in its place,"
            f" say --force; what is there now is set aside in {data / REPLACED}…, not deleted."
        )
    needed = sum(found.bytes for part in (manifest.own, manifest.files) for found in part.values())
    free = shutil.disk_usage(data).free
    if free < needed + SPARE:
        raise StoreError(
            f"{data} has {_mb(free)} MB free, the backup needs {_mb(needed + SPARE)}; nothing was changed."
        )


def _mb(size: int) -> int:
    return -(-size // 1_000_000)


def _stage(archive: Archive, manifest: Manifest, stage: Path, left_out: Collection[str]) -> None:
    """Everything else beside its place, on disk, the database in WAL mode."""
    shutil.rmtree(stage, ignore_errors=True)
    for folder in (stage, stage / "photos", stage / "quotes"):
        folder.mkdir(mode=0o700)
    for name, found in manifest.files.items():
        target = stage / _inside(name)
        if name not in left_out:
            copy_durably(archive.pooled(found), target)
    copy_durably(archive.database, stage / DATABASE)
    with closing(sqlite3.connect(stage / DATABASE)) as db, db:
        db.execute("PRAGMA journal_mode = WAL")
        begin_anew(db)
    sync_file(stage / DATABASE)
    sync_folder(stage)


def _inside(name: str) -> Path:
    """A manifest comes from outside: no file of it may land elsewhere. Raises StoreError."""
    if not HELD_NAME.fullmatch(name):
        raise StoreError(
            f"The backup names a file that no backup of Tallyfret holds: {name}. Nothing was changed."
        )
    return Path(name)


def _erase_again(data: Path, now: datetime) -> int:
    """In what is about to be put back, whoever is erased in what is there, or in what was there before."""
    former = [data / DATABASE, *data.glob(f"{REPLACED}*/{DATABASE}")]
    erased = erased_in(path for path in former if path.is_file())
    if not erased:
        return 0
    update = data / STAGE / "backups"  # a store brought up to date is saved before: the archive is that
    store = Store(data / STAGE, update)
    again = erase_again(store, erased, now)
    store.close()
    shutil.rmtree(update, ignore_errors=True)
    sync_folder(data / STAGE)
    return again


def _swap(data: Path, now: datetime) -> Path | None:
    aside = _unused(data / f"{REPLACED}{now.astimezone(UTC).strftime(NAMED)}")
    staged = sorted((data / STAGE).iterdir())
    in_the_way = {*_present(data), *(data / path.name for path in staged)}
    for path in sorted(path for path in in_the_way if path.exists()):
        aside.mkdir(mode=0o700, exist_ok=True)
        path.rename(aside / path.name)
    for path in staged:
        path.rename(data / path.name)
    (data / STAGE).rmdir()
    sync_folder(data)
    return aside if aside.exists() else None


def _unused(folder: Path) -> Path:
    """That name, or with a number where an earlier restore of the same second has taken it."""
    names = (folder.with_name(f"{folder.name}-{number}") for number in count(2))
    return folder if not folder.exists() else next(name for name in names if not name.exists())


def _present(data: Path) -> Iterator[Path]:
    """A shop's data, as far as it is there."""
    for name in (DATABASE, f"{DATABASE}-wal", f"{DATABASE}-shm"):
        if (data / name).exists():
            yield data / name
    for folder in ("photos", "quotes", "printed"):
        if (data / folder).is_dir() and any((data / folder).iterdir()):
            yield data / folder
