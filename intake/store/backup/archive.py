"""What a backup is: a folder with the database and a manifest, beside a pool of files.

    backups/
      files/ab/ab12…            photos, PDFs and settings by SHA-256: a file that stays is kept once
      2026-11-25T023000.000Z/   tallyfret.db · book.zip · manifest.json

Every archive is whole by itself as long as `files` stands beside it.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

from intake.store.errors import StoreError
from intake.store.files import sha256_of

DATABASE = "tallyfret.db"
BOOK = "book.zip"
MANIFEST = "manifest.json"
POOL = "files"
FORMAT = 1
NAMED = "%Y-%m-%dT%H%M%S"


@dataclass(frozen=True)
class Held:
    """One file of a backup."""

    sha256: str
    bytes: int


@dataclass(frozen=True)
class Manifest:
    """`why` is asked, scheduled or update. `own` are the archive's own files, `files` those of the
    pool by their path in the data folder; `missing` are files the database names that were missing on disk
    when the archive was written, among `files` only if an earlier backup had them."""

    made_at: str
    why: str
    version: str
    own: Mapping[str, Held]
    files: Mapping[str, Held]
    missing: tuple[str, ...] = ()

    def text(self) -> str:
        return json.dumps({"format": FORMAT, **asdict(self)}, indent=1, ensure_ascii=False)


@dataclass(frozen=True)
class Archive:
    """A backup on disk."""

    folder: Path

    @property
    def made(self) -> datetime:
        """When, as its name says."""
        moment = datetime.strptime(self.folder.name[:17], NAMED).replace(tzinfo=UTC)
        return moment.replace(microsecond=int(self.folder.name[18:21]) * 1000)

    @property
    def database(self) -> Path:
        return self.folder / DATABASE

    def pooled(self, held: Held) -> Path:
        """Where the pool keeps that file."""
        return pool_path(self.folder.parent, held.sha256)

    def manifest(self) -> Manifest:
        """What it holds. Raises StoreError if the manifest cannot be read."""
        try:
            found = json.loads((self.folder / MANIFEST).read_text("utf-8"))
            if found.pop("format") != FORMAT:
                raise StoreError(f"{self.folder} was written by another version of Tallyfret.")
            own, files = (
                {name: Held(**held) for name, held in found[part].items()} for part in ("own", "files")
            )
            return Manifest(**{**found, "own": own, "files": files, "missing": tuple(found["missing"])})
        except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
            raise StoreError(f"{self.folder} is no backup, or its manifest is damaged.") from error

    def spoiled(self) -> dict[str, str]:
        """The files of the pool that cannot be had as they were written, by name, and what is wrong.
        Raises StoreError if the manifest cannot be read."""
        files = self.manifest().files.items()
        return {name: says for name, held in files if (says := wrong(self.pooled(held), held))}

    def problems(self, *, files: bool = True) -> list[str]:
        """What is wrong with it, in sentences; empty for a good one. Without `files` the pool is not read."""
        try:
            manifest = self.manifest()
        except StoreError as error:
            return [str(error)]
        own = [(self.folder / name, held) for name, held in manifest.own.items()]
        found = [says for path, held in own if (says := wrong(path, held))] or damage(self.database)
        return found or (list(self.spoiled().values()) if files else [])


def wrong(path: Path, held: Held) -> str:
    """What differs between the file and what the manifest says of it; empty if nothing."""
    try:
        same = path.stat().st_size == held.bytes and sha256_of(path) == held.sha256
    except OSError as error:
        return f"{path} cannot be read: {error.strerror}."
    return "" if same else f"{path} is not what was written: its hash differs."


def uri(database: Path, mode: str) -> str:
    """The address by which SQLite opens the file in that mode, whatever signs its path holds."""
    return f"{database.absolute().as_uri()}?mode={mode}"


def damage(database: Path) -> list[str]:
    """What SQLite finds wrong in the file: structure, indexes, foreign keys."""
    try:
        with closing(sqlite3.connect(uri(database, "ro"), uri=True)) as db:
            found = [str(says) for (says,) in db.execute("PRAGMA integrity_check") if says != "ok"]
            if not found and db.execute("PRAGMA foreign_key_check").fetchone():
                found = ["rows point at rows that are not there"]
    except sqlite3.Error as error:
        found = [str(error)]
    return [f"{database} is damaged: {says}." for says in found[:3]]


def archives(backups: Path) -> list[Archive]:
    """All finished backups there, newest first."""
    if not backups.is_dir():
        return []
    named = [Archive(path) for path in backups.iterdir() if _is_archive(path)]
    return sorted(named, key=lambda archive: archive.folder.name, reverse=True)


def newest_good(backups: Path) -> Archive | None:
    """The newest backup whose database and manifest hold, every byte read; photos are not."""
    return next((archive for archive in archives(backups) if not archive.problems(files=False)), None)


def pool_path(backups: Path, sha256: str) -> Path:
    return backups / POOL / sha256[:2] / sha256


def pool_files(backups: Path) -> Iterator[Path]:
    """Every file in the pool."""
    return (path for path in (backups / POOL).glob("??/*") if path.is_file())


def _is_archive(path: Path) -> bool:
    try:
        return bool(Archive(path).made) and (path / MANIFEST).is_file()
    except (ValueError, IndexError):
        return False
