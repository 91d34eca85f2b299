"""Power cut: the write-ahead log ends anywhere, cleanly or in rubbish, as a disk leaves it."""

from __future__ import annotations

import random
import shutil
from dataclasses import dataclass
from pathlib import Path
from uuid import uuid4

from flask.testing import FlaskClient

from faulty.trial import Trial, broken, change, contents, kept, phone_of
from intake.app import create_app
from intake.config import Settings
from intake.store import edits
from intake.store.backup.archive import DATABASE
from intake.store.db import Store

LOG = f"{DATABASE}-wal"
SAVES = 30


@dataclass(frozen=True)
class Told:
    """One save that the phone was told of, and how long the log was by then."""

    key: str
    relief: str
    base: str
    end: int


def logs(folder: Path, tries: int, seed: int) -> Trial:
    """What stood whole before the cut is there, in order; the rest is gone as a whole and goes again."""
    ticket, chance, lost = str(uuid4()), random.Random(seed), 0
    told = _power_cut(folder / "shop", folder / "cut", ticket)
    whole = (folder / "cut" / LOG).read_bytes()
    for turn in range(tries):
        shop = folder / "try"
        shutil.copytree(folder / "cut", shop)
        cut = chance.randrange(len(whole) + 1)
        rubbish = chance.randbytes(len(whole) - cut) if turn % 2 else b""
        (shop / LOG).write_bytes(whole[:cut] + rubbish)
        lost += _lost(shop, ticket, told, cut)
        shutil.rmtree(shop)
    name = f"power cut: write-ahead log torn anywhere ({len(told)} saves in it)"
    return Trial(name, tries, lost, "nothing: the start takes what is whole; what a phone kept goes again")


def _power_cut(shop: Path, cut: Path, ticket: str) -> list[Told]:
    """Saves that stand in the log alone, and a copy of the two files as they lie on the disk meanwhile."""
    app = create_app(Settings(data=shop))
    store, client = app.extensions["context"].store, phone_of(app)
    store.db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    store.db.execute("PRAGMA wal_autocheckpoint = 0")
    told: list[Told] = []
    for number in range(1, SAVES + 1):
        told.append(_told(client, shop / LOG, ticket, f"0.{number:03} in", told[-1].key if told else ""))
    cut.mkdir(parents=True)
    for name in (DATABASE, LOG):
        shutil.copy(shop / name, cut / name)
    store.close()
    return told


def _told(client: FlaskClient, log: Path, ticket: str, relief: str, base: str) -> Told:
    key = str(uuid4())
    assert kept(change(client, ticket, key, relief, base))
    return Told(key, relief, base, log.stat().st_size)


def _lost(shop: Path, ticket: str, told: list[Told], cut: int) -> int:
    """Saves gone although whole before the cut, halves, and a phone's next try that did not go through."""
    before = sum(one.end <= cut for one in told)
    store = Store(shop)
    past = [row.value for row in edits.of_part(store.db, ticket, "relief")]
    store.close()
    lost = max(before - len(past), 0)
    lost += past != [one.relief for one in told[: len(past)]]
    written = contents(shop)
    lost += len(written["edits"]) != len(written["keys"])
    return lost + _sent_again(shop, ticket, told, len(past)) + broken(shop)


def _sent_again(shop: Path, ticket: str, told: list[Told], held: int) -> int:
    """The phone sends its last save there and the first that is gone."""
    app = create_app(Settings(data=shop))
    client, lost = phone_of(app), 0
    for number in {max(held - 1, 0), min(held, SAVES - 1)}:
        one = told[number]
        lost += not kept(change(client, ticket, one.key, one.relief, one.base))
    db = app.extensions["context"].store.db
    lost += len(edits.of_part(db, ticket, "relief")) != min(held + 1, SAVES)
    app.extensions["context"].store.close()
    return lost
