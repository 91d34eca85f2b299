"""Works without pause and is killed, over and over: `python worker.py KIND FOLDER TIMES SEED`.

KIND is saves, uploads, quotes, sends, updates, backups or restores. Prints a line for whatever was
acknowledged, and `died` for a child that ended by itself. A process of its own, because it forks: the
children share one import.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import sys
import time
import traceback
from collections.abc import Callable
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from uuid import uuid4

from flask.testing import FlaskClient

from faulty.trial import change, kept, noise, phone_of, quotable, quote, upload
from intake.store.backup.archive import archives
from intake.store.backup.backup import back_up
from intake.store.db import Store
from intake.store.restore import restore

Say = Callable[[str], None]
SHOP, BACKUPS = "shop", "backups"


def program(folder: Path) -> FlaskClient:
    from intake.app import create_app
    from intake.config import Settings

    return phone_of(create_app(Settings(data=folder / SHOP)))


def saves(folder: Path, say: Say) -> None:
    client = program(folder)
    while True:
        ticket, base = str(uuid4()), "-"
        for number in ("1", "2", "3"):
            key, relief = str(uuid4()), f"0.00{number} in"
            if kept(change(client, ticket, key, relief, base)):
                say(f"{key} {ticket} {base} {relief}")
            base = key


def uploads(folder: Path, say: Say) -> None:
    client = program(folder)
    while True:
        answer = upload(client, str(uuid4()), str(uuid4()), noise(300, 200))
        if kept(answer) and answer.json:
            say(answer.json["sha"])


def quotes(folder: Path, say: Say) -> None:
    client = program(folder)
    while True:
        ticket = quotable(client)
        if kept(quote(client, ticket, str(uuid4()))):
            say(ticket)


def sends(folder: Path, say: Say) -> None:
    """A sender at work, and somebody who taps "Send" all the time."""
    from faulty import mail

    store = Store(folder / SHOP)
    sender = mail.office(store, int((folder / mail.PORT_FILE).read_text("utf-8")))
    sender.start()
    for number in count():
        with store.writing() as db:
            id = mail.put(db, number)
        say(str(id))
        sender.wake()
        time.sleep(0.02)


def updates(folder: Path, say: Say) -> None:
    Store(folder / SHOP).close()
    say("open")
    time.sleep(60)


def backups(folder: Path, say: Say) -> None:
    while True:
        say(back_up(folder / SHOP, folder / BACKUPS, datetime.now(UTC), "asked").folder.name)


def restores(folder: Path, say: Say) -> None:
    (archive,) = archives(folder / BACKUPS)
    while True:
        restore(archive, folder / SHOP, datetime.now(UTC), force=True)
        say("restored")
        for old in (folder / SHOP).glob("replaced-*"):
            shutil.rmtree(old)


KINDS = {work.__name__: work for work in (saves, uploads, quotes, sends, updates, backups, restores)}


def main(kind: str, folder: Path, times: int, seed: int) -> None:
    chance = random.Random(seed)
    if kind in ("saves", "uploads", "quotes"):
        __import__("intake.app")
    if kind == "sends":
        __import__("faulty.mail")
    for turn in range(times):
        told, child_tells = os.pipe()
        child = os.fork()
        if not child:
            work(kind, folder, child_tells)
        os.close(child_tells)
        kill(child, told, chance, at_once=bool(turn % 2) or kind in ("updates", "restores"))


def work(kind: str, folder: Path, tells: int) -> None:
    def say(line: str) -> None:
        os.write(1, f"{line}\n".encode())
        os.write(tells, b".")

    try:
        KINDS[kind](folder, say)
    except BaseException:
        traceback.print_exc()
    finally:
        os.write(1, b"died\n")
        os._exit(1)


def kill(child: int, told: int, chance: random.Random, at_once: bool) -> None:
    """After a random while from its start, or from the first thing that it acknowledged."""
    if not at_once:
        os.read(told, 1)
    time.sleep(chance.random() * 0.3)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    os.close(told)


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4]))
