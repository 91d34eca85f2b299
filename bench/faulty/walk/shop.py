"""The shop's computer in a walk: a server that is killed and started anew, books loaded, backups put back."""

from __future__ import annotations

import multiprocessing
import os
import shutil
import socket
import sys
import time
from collections import Counter
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from click.testing import CliRunner

from intake.cli.book_revisions import load
from intake.config import demo_book
from intake.services.current_book import read_files
from intake.store import devices, people, revisions, sessions
from intake.store.backup.archive import archives
from intake.store.backup.backup import back_up
from intake.store.books import Files, write_folder
from intake.store.db import Store
from intake.store.restore import restore

HOST = "127.0.0.1"
NO_SCHEDULE = '[backup]\nat = "never"\n'
MANY_BOOKS = 21
"""More revisions than the program ever looked back through for a question that left the book."""
DROPPED = ("serial", "maker_words", "accessories")
"""Questions that no table of the demo shop's book asks about."""
Cookies = dict[str, str]

FORKS = multiprocessing.get_context("forkserver")
FORKS.set_forkserver_preload(["__main__", "faulty.walk.server"])


class ReadyFolder:
    """A data folder brought up to date, with two phones enrolled; each walk begins with a copy of it."""

    def __init__(self, folder: Path) -> None:
        from intake.app import create_app
        from intake.config import Settings

        os.environ["PYTHONPATH"] = os.pathsep.join(sys.path)
        self.folder = folder
        app = create_app(Settings(data=folder, book=demo_book()))
        store = app.extensions["context"].store
        (folder / "tallyfret.toml").write_text(NO_SCHEDULE, "utf-8")
        self.cookies = {name: _enrolled(store, name) for name in ("Front", "Back")}
        store.close()
        self.books = {name: _written(folder.parent / name, files) for name, files in _books().items()}


def _enrolled(store: Store, phone: str) -> Cookies:
    now = datetime.now(UTC)
    with store.writing() as db:
        known = people.owner(db)
        owner = known.id if known else people.add(db, "Bench", "owner", now)
        enrolled = devices.enrol(db, devices.offer(db, owner, now), phone, now)
        assert enrolled
        return {"device": enrolled[1], "session": sessions.start(db, owner, enrolled[0], now)}


def _books() -> dict[str, Files]:
    """The demo shop's; the same with a question in another step; the same without some."""
    files = dict(read_files(demo_book()))
    checklist = files["checklist.toml"].decode()
    blocks = checklist.split("[[question]]")
    moved = [
        block.replace('step = "neck"', 'step = "action"') if 'id = "relief"' in block else block
        for block in blocks
    ]
    without = [block for block in blocks if not any(f'id = "{id}"' in block for id in DROPPED)]
    assert moved != blocks and len(without) == len(blocks) - len(DROPPED)
    join = "[[question]]".join
    return {
        "usual": files,
        "moved": {**files, "checklist.toml": join(moved).encode()},
        "without": {**files, "checklist.toml": join(without).encode()},
    }


def _written(folder: Path, files: Files) -> Path:
    write_folder(files, folder)
    return folder


class Shop:
    """`book` is the name of the one in force. `photos_gone` counts photos of a ticket that came after the
    backup that was put back: the phone keeps a photo until the shop has it."""

    def __init__(self, ready: ReadyFolder, data: Path) -> None:
        self.data, self.book = data, "usual"
        self.photos_gone: Counter[str] = Counter()
        self._ready = ready
        shutil.copytree(ready.folder, data)
        with socket.socket() as free:
            free.bind((HOST, 0))
            self.port = free.getsockname()[1]
        self._process: multiprocessing.process.BaseProcess | None = None

    def start(self) -> None:
        from faulty.walk.server import serve

        if self._process is not None:
            return
        self._process = FORKS.Process(target=serve, args=(str(self.data), self.port), daemon=True)
        self._process.start()
        end = time.monotonic() + 60
        while not self._answers():
            if time.monotonic() > end or not self._process.is_alive():
                raise RuntimeError("the shop's server did not start")
            time.sleep(0.02)

    def _answers(self) -> bool:
        with socket.socket() as tried:
            return tried.connect_ex((HOST, self.port)) == 0

    def kill(self) -> None:
        """kill -9."""
        if self._process is not None:
            self._process.kill()
            self._process.join()
            self._process = None

    def load_book(self, name: str) -> None:
        """`tallyfret book load`, while the server runs or not."""
        if name == self.book:
            return
        done = CliRunner().invoke(load, [str(self._ready.books[name]), "--confirm"], obj=self.data)
        if done.exit_code:
            raise RuntimeError(done.output)
        self.book = name

    def put_usual_book_back(self) -> None:
        """What `book load` comes to, without its check of the book."""
        if self.book == "usual":
            return
        with closing(Store(self.data)) as store, store.writing() as db:
            first = revisions.find(db, 1)
            assert first
            files, now = revisions.files_of(db, first.number), datetime.now(UTC)
            revisions.put_in_force(db, first.digest, files, now, "load", about="usual")
        self.book = "usual"

    def load_many_books(self) -> None:
        """So many revisions of the book in force that what was asked before lies far back."""
        with closing(Store(self.data)) as store, store.writing() as db:
            held = revisions.in_force(db)
            assert held
            files = revisions.files_of(db, held.number)
            for _ in range(MANY_BOOKS):
                now = datetime.now(UTC)
                revisions.put_in_force(db, held.digest, files, now, "load", about=self.book)

    def back_up(self) -> None:
        back_up(self.data, self.data / "backups", datetime.now(UTC), "asked")

    def set_back(self, ticket: str) -> bool:
        """The server is killed, and the newest backup is put back; false where there is none."""
        found = archives(self.data / "backups")
        if not found:
            return False
        self.kill()
        before = self.count_photos(ticket)
        newest = max(found, key=lambda archive: archive.made)
        restore(newest, self.data, datetime.now(UTC), force=True)
        self.photos_gone[ticket] += before - self.count_photos(ticket)
        with closing(Store(self.data)) as store:
            held = revisions.in_force(store.db)
            assert held
            self.book = held.about if held.about in self._ready.books else "usual"
        return True

    def count_photos(self, ticket: str) -> int:
        with closing(Store(self.data)) as store:
            return int(store.db.table("photos").count_where("ticket = ?", [ticket]))
