"""kill -9 at random moments: what was acknowledged is there, and nothing is there by half."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from faulty.trial import Trial, broken, change, contents, kept, phone_of
from intake.app import create_app
from intake.config import Settings
from intake.store import edits, photos, tickets
from intake.store.backup.archive import archives
from intake.store.backup.backup import back_up
from intake.store.db import Store
from intake.store.errors import StoreError
from intake.store.quotes import latest
from intake.store.restore import restore

HERE = Path(__file__).parent
NOTHING = "nothing: the phone sends it again"
PATIENCE = 3600
OLD_TICKET = "insert into tickets values (?, ?, 't', 't', 't', 't', 't', 't', 't', 't', 't', 't', 't')"


def killed(kind: str, folder: Path, times: int, seed: int) -> list[str]:
    """What the killed ones had acknowledged. Raises RuntimeError if one ended by itself."""
    path = os.pathsep.join([str(HERE.parent), *sys.path])
    command = [sys.executable, str(HERE / "worker.py"), kind, str(folder), str(times), str(seed)]
    done = subprocess.run(
        command, capture_output=True, text=True, timeout=PATIENCE, env={**os.environ, "PYTHONPATH": path}
    )
    if done.returncode or "died" in done.stdout.splitlines():
        raise RuntimeError(f"{kind}: {done.stdout[-300:]} {done.stderr[-2000:]}")
    return done.stdout.splitlines()


def saves(folder: Path, times: int, seed: int) -> Trial:
    """Each acknowledged save stands as it was, no other by half, and sent again it changes nothing."""
    told = [line.split(maxsplit=3) for line in killed("saves", folder, times, seed)]
    app = create_app(Settings(data=folder / "shop"))
    client, store, lost = phone_of(app), app.extensions["context"].store, 0
    written = contents(folder / "shop")
    for key, ticket, base, relief in told:
        past = edits.find(store.db, key)
        lost += past is None or (past.ticket, past.value, past.base) != (ticket, relief, (base,))
        again = change(client, ticket, key, relief, base)
        lost += again.status_code != 200 or not kept(again)
    lost += contents(folder / "shop") != written
    lost += len(written["edits"]) != len(written["keys"])
    lost += {row[0] for row in written["tickets"]} != {row[0] for row in written["parts"]}
    store.close()
    name = f"kill -9 while saving ({len(told)} acknowledged)"
    return Trial(name, times, lost + broken(folder / "shop"), NOTHING)


def uploads(folder: Path, times: int, seed: int) -> Trial:
    told = killed("uploads", folder, times, seed)
    store = Store(folder / "shop")
    lost = sum(not photos.known(store.db, sha) for sha in told)
    store.close()
    return Trial(
        f"kill -9 while keeping photos ({len(told)} acknowledged)",
        times,
        lost + broken(folder / "shop"),
        NOTHING,
    )


def quotes(folder: Path, times: int, seed: int) -> Trial:
    told = killed("quotes", folder, times, seed)
    store = Store(folder / "shop")
    lost = sum(latest(store.db, ticket) is None for ticket in told)
    store.close()
    return Trial(
        f"kill -9 while freezing quotes ({len(told)} acknowledged)",
        times,
        lost + broken(folder / "shop"),
        NOTHING,
    )


def updates(folder: Path, times: int, seed: int, oldest: Path, many: int = 300) -> Trial:
    """Each from a shop of the oldest schema."""
    lost = 0
    for turn in range(times):
        shop = folder / "shop"
        shutil.rmtree(folder, ignore_errors=True)
        shop.mkdir(parents=True)
        before = _old_shop(shop, oldest, many)
        killed("updates", folder, 1, seed + turn)
        store = Store(shop)
        after = {row.id for row in tickets.board(store.db, limit=many + 9)}
        entries = store.db.table("steps").count
        store.close()
        lost += after != before or entries != len(before) or bool(broken(shop))
    return Trial("kill -9 while the schema is updated", times, lost, "nothing: the next start finishes it")


def _old_shop(shop: Path, oldest: Path, many: int) -> set[str]:
    with closing(sqlite3.connect(shop / "tallyfret.db")) as db:
        db.executescript(oldest.read_text("utf-8"))
        ids = [f"t-{number}" for number in range(2, many)]
        db.executemany(OLD_TICKET, [(id, number) for number, id in enumerate(ids, 2)])
        db.executemany("insert into steps values (?, 'neck', 1, '[]', '', 'd', 't')", [(id,) for id in ids])
        db.commit()
        db.execute("PRAGMA journal_mode = WAL")
    return {"t-1", *ids}


def backups(folder: Path, times: int, seed: int) -> Trial:
    _some_shop(folder / "shop")
    told = killed("backups", folder, times, seed)
    found = archives(folder / "backups")
    lost = sum(bool(archive.problems()) for archive in found) + len(
        set(told) - {a.folder.name for a in found}
    )
    return Trial(
        f"kill -9 while backing up ({len(told)} acknowledged)",
        times,
        lost,
        "nothing: halves do not count as backups",
    )


def restores(folder: Path, times: int, seed: int) -> Trial:
    shop = folder / "shop"
    _some_shop(shop)
    archive = back_up(shop, folder / "backups", datetime.now(UTC), "asked")
    before, lost, saw = contents(shop), 0, "nothing"
    for turn in range(times):
        killed("restores", folder, 1, seed + turn)
        try:
            Store(shop).close()
        except StoreError as error:
            saw = str(error)
            restore(archive, shop, datetime.now(UTC), force=True)
        lost += contents(shop) != before or bool(broken(shop))
    return Trial("kill -9 while restoring", times, lost, saw.replace(str(folder), "…"))


def _some_shop(shop: Path) -> None:
    store = Store(shop)
    now = datetime.now(UTC)
    with store.writing() as db:
        for number in range(40):
            tickets.ensure(db, f"t-{number}", now)
            jpeg = bytes([255, 216, number]) * 5000
            photos.keep(db, f"t-{number}", photos.write(store.photos, jpeg), (1, 1), len(jpeg), now)
    store.close()
