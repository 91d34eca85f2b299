"""Disks that are full, that can only be read, that lose a page or a photo; and a clock that jumps."""

from __future__ import annotations

import random
import shutil
import sqlite3
import subprocess
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import uuid4

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from faulty.trial import Trial, broken, change, contents, kept, noise, phone_of, quotable, quote, save, upload
from intake.app import create_app
from intake.config import Settings
from intake.operations.backup_settings import BackupSettings
from intake.operations.doctor import examine
from intake.store import edits, tickets
from intake.store.backup.archive import Archive
from intake.store.backup.backup import back_up
from intake.store.db import Store
from intake.store.errors import StoreError
from intake.store.restore import restore

NOW = datetime(2026, 11, 25, 15, tzinfo=UTC)
SMALL = 6_000_000


def may_mount(folder: Path) -> bool:
    """True if this user may make a small file system here."""
    try:
        with small_disk(folder / "try"):
            return True
    except (OSError, subprocess.CalledProcessError):
        return False


@contextmanager
def small_disk(folder: Path, size: int = SMALL) -> Iterator[Path]:
    """A file system in memory of that many bytes."""
    folder.mkdir(parents=True)
    subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size}", "none", folder], check=True, capture_output=True
    )
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", folder], check=True)


@contextmanager
def filled(folder: Path) -> Iterator[None]:
    """No byte is free while the block runs."""
    filler = folder / "filler"
    with filler.open("wb", buffering=0) as file, suppress(OSError):
        while file.write(b"\0" * 4096):
            pass
    try:
        yield
    finally:
        filler.unlink()


@contextmanager
def short_files(_: Path) -> Iterator[None]:
    """No file of this process may grow: what a full disk is where none may be mounted."""
    import resource

    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def full(disk: Path, full_disk: Callable[[Path], object], tries: int, name: str) -> Trial:
    """Saves, photos and quotes on a full disk; once there is room, the phone's next try goes through."""
    shop, lost, saw = disk / "shop", 0, ""
    app = create_app(Settings(data=shop))
    client = phone_of(app)
    quote(client, quotable(client), str(uuid4()))  # whoever prints is at work already
    for _ in range(tries):
        asked = _requests(client)
        before = contents(shop)
        with full_disk(disk):  # type: ignore[attr-defined]
            answers = [ask() for ask in asked]
        refused = [answer for answer in answers if not kept(answer)]
        saw = next((answer.text for answer in refused if answer.status_code == 507), saw)
        lost += len(answers) != len(refused) and contents(shop) == before
        lost += any(answer.status_code != 507 for answer in refused)
        lost += sum(not kept(ask()) for ask in asked)
    app.extensions["context"].store.close()
    return Trial(name, tries * 3, lost + broken(shop), saw)


def _requests(client: FlaskClient) -> list[Callable[[], TestResponse]]:
    ticket, quoted, photo = str(uuid4()), quotable(client), noise(200, 150)
    keys = [str(uuid4()) for _ in range(3)]
    words = "a rattle on the third string " * 200
    return [
        lambda: save(client, ticket, keys[0], "player", complaint_words=words),
        lambda: upload(client, ticket, keys[1], photo),
        lambda: quote(client, quoted, keys[2]),
    ]


def read_only(disk: Path) -> Trial:
    """The file system of a shop comes up read-only, as after an error of the disk."""
    shop = disk / "shop"
    app = create_app(Settings(data=shop))
    ticket = str(uuid4())
    save(phone_of(app), ticket, str(uuid4()), relief="0.008 in")
    app.extensions["context"].store.close()
    before = contents(shop)
    subprocess.run(["mount", "-o", "remount,ro", disk], check=True, capture_output=True)
    try:
        Store(shop)
        saw = ""
    except StoreError as error:
        saw = str(error)
    subprocess.run(["mount", "-o", "remount,rw", disk], check=True)
    return Trial(
        "read-only disk at the start",
        1,
        int(contents(shop) != before or not saw),
        saw.replace(str(disk), "…"),
    )


def turned_read_only(folder: Path) -> Trial:
    """The file can only be read from one moment on; SQLite's own `query_only` stands in for the disk."""
    app = create_app(Settings(data=folder))
    db, client, key = app.extensions["context"].store.db, phone_of(app), str(uuid4())
    ticket = str(uuid4())
    db.execute("PRAGMA query_only = ON")
    answer = save(client, ticket, key, relief="0.008 in")
    db.execute("PRAGMA query_only = OFF")
    lost = kept(answer) + (not kept(save(client, ticket, key, relief="0.008 in")))
    app.extensions["context"].store.close()
    return Trial("file that can only be read, while running", 1, lost + broken(folder), answer.text)


def damaged_pages(folder: Path, tries: int, seed: int) -> Trial:
    """A page of the file is overwritten; the start refuses, and its command brings everything back."""
    shop, backups = folder / "shop", folder / "backups"
    _some_tickets(shop)
    archive = back_up(shop, backups, NOW, "asked")
    before, chance, lost, saw = contents(shop), random.Random(seed), 0, ""
    for _ in range(tries):
        _overwrite_page(shop / "tallyfret.db", chance)
        try:
            Store(shop, backups).close()
            lost += 1
        except StoreError as error:
            saw = str(error)
            restore(Archive(Path(saw.split()[-2])), shop, NOW, force=True)
        lost += contents(shop) != before
        for aside in shop.glob("replaced-*"):
            shutil.rmtree(aside)
    assert str(archive.folder) in saw
    return Trial("overwritten page", tries, lost, saw.replace(str(folder), "…"))


def _some_tickets(shop: Path) -> None:
    store = Store(shop)
    with store.writing() as db:
        for number in range(400):
            id = str(uuid4())
            tickets.ensure(db, id, NOW)
            edits.add(db, edits.Row(id, id, "relief", f"0.{number:03} in"), NOW)
            tickets.change(db, id, NOW, name=f"Ines Falk{number}")
    store.db.execute("VACUUM")
    store.db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    store.close()


def _overwrite_page(path: Path, chance: random.Random) -> None:
    with path.open("r+b") as file:
        size = 4096
        file.seek(chance.randrange(path.stat().st_size // size) * size)
        file.write(bytes([chance.randrange(100, 256)]) * size)


def damaged_photos(folder: Path, tries: int, seed: int) -> Trial:
    """A byte of a photo turns; the doctor says so and brings the photo back from the backup."""
    shop, chance, lost, saw = folder / "shop", random.Random(seed), 0, ""
    settings = BackupSettings(folder / "backups")
    app = create_app(Settings(data=shop))
    assert kept(upload(phone_of(app), str(uuid4()), str(uuid4()), noise(200, 150)))
    app.extensions["context"].store.close()
    back_up(shop, settings.to, NOW, "asked")
    (path,) = (shop / "photos").glob("*.jpg")
    whole = path.read_bytes()
    for _ in range(tries):
        at = chance.randrange(len(whole))
        path.write_bytes(whole[:at] + bytes([whole[at] ^ 1 << chance.randrange(8)]) + whole[at + 1 :])
        found = list(examine(shop, settings, NOW))
        lost += len(found) != 1 or found[0].mend is None
        for finding in found:
            saw = finding.says
            if finding.mend:
                finding.mend()
        lost += path.read_bytes() != whole
    return Trial(
        "photo with a turned bit",
        tries,
        lost,
        saw.replace(str(folder), "…").replace(path.stem, f"{path.stem[:8]}…"),
    )


def clock_jumps(folder: Path, tries: int, seed: int) -> Trial:
    """Years ahead and back between saves, with restarts; then the phone sends the last save again."""
    chance, lost, moment = random.Random(seed), 0, NOW
    ticket, last = str(uuid4()), ("", "", "")
    for turn in range(tries):
        moment = NOW + timedelta(days=chance.randrange(-4000, 4000))
        app = create_app(Settings(data=folder, now=lambda moment=moment: moment))  # type: ignore[misc]
        client = phone_of(app)
        if turn:
            lost += not kept(change(client, ticket, *last))
        last = (str(uuid4()), f"0.{turn:03} in", last[0])
        lost += not kept(change(client, ticket, *last))
        app.extensions["context"].store.close()
    with closing(sqlite3.connect(folder / "tallyfret.db")) as db:
        lost += tries - db.execute("select count(*) from edits where fate = 'stands'").fetchone()[0]
        lost += db.execute("select count(*) from parts where sides > 1").fetchone()[0]
    return Trial("clock that jumps by years, with restarts", tries, lost + broken(folder), "nothing")
