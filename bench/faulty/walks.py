"""Random walks of two phones on one ticket, in a real Chromium behind a bad line.

Requests are delayed, dropped, cut, doubled, or held and sent on late and out of order, answers are lost;
pages are reloaded, closed and opened beside each other; browser and server are killed with -9; books are
loaded and backups put back. In the end every value that a hand entered and a screen showed is looked for in
the store, the quote, the export and on a page opened anew. A seed repeats the moves, not the moments at
which they come.
"""

from __future__ import annotations

import os
import random
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import Any
from uuid import uuid4

from faulty.trial import Trial
from faulty.walk import comparison
from faulty.walk.line import Line
from faulty.walk.moves import Walk
from faulty.walk.phone import Kind, Phone, browser_of
from faulty.walk.plants import Plant, planted
from faulty.walk.shop import ReadyFolder, Shop
from intake.book.files.load import load_book
from intake.config import demo_book

MOVES = 12
WALKS_OF_A_SHOP = 4
PATIENCE = 60
KINDS = (
    Kind(profile=True),
    Kind(worker=True),
    Kind(has_database=False),
    Kind(),
    Kind(worker=True, was_withdrawn=True),
    Kind(profile=True, worker=True),
    Kind(),
    Kind(worker=True, was_withdrawn=True),
)
"""What the first phone is like; the second one is like any."""
TOLD = re.compile(r"^  walk (\d+): \d+ values, (.*) \([\d.]+ s\)$")
FAULTS = "bench/faults.py"
ONLINE = "window.dispatchEvent(new Event('online'))"


def walks(folder: Path, times: int, first_seed: int, *, until_lost: bool = False) -> Trial:
    """So many walks, each with a seed of its own; what was lost is named with its seed."""
    from playwright.sync_api import sync_playwright

    lost: list[str] = []
    entered = done = 0
    ready = ReadyFolder(folder / "ready")
    lines = [Line(), Line()]
    with sync_playwright() as driver, browser_of(driver) as browser, ExitStack() as open_now:
        for seed in range(first_seed, first_seed + times):
            began = time.monotonic()
            if seed == first_seed or seed % WALKS_OF_A_SHOP == 0:
                open_now.close()
                opening = opened(driver, browser, ready, lines, folder / str(seed), seed // WALKS_OF_A_SHOP)
                shop, phones = open_now.enter_context(opening)
            walk = walk_of(seed, shop, phones)
            found = one_walk(walk)
            count, done = len(walk.notes.entries), done + 1
            lost += [f"seed {seed}: {one}" for one in found]
            entered += count
            took = time.monotonic() - began
            said = "; ".join(found) or "none lost"
            print(f"  walk {seed}: {count} values, {said} ({took:.1f} s)", flush=True)
            if lost and until_lost:
                break
    for line in lines:
        line.close()
    says = (
        "; ".join(lost[:5]) or f"{entered} values entered, each in the ticket or before a person who chooses"
    )
    return Trial(f"walks of two phones, seeds from {first_seed}", done, len(lost), says)


@contextmanager
def opened(
    driver: Any, browser: Any, ready: ReadyFolder, lines: list[Line], folder: Path, kind: int
) -> Iterator[tuple[Shop, list[Phone]]]:
    """A shop with two phones, for some walks, each on a ticket of its own."""
    shop = Shop(ready, folder / "data")
    shop.start()
    kinds = (KINDS[kind % len(KINDS)], Kind(worker=kind % 5 == 0))
    phones = []
    for line, (name, cookies), kind_of_phone in zip(lines, ready.cookies.items(), kinds, strict=True):
        line.shop_port = shop.port
        phone = Phone(name, kind_of_phone, line, cookies, driver, browser, folder / f"profile-{name}")
        phone.start()
        phones.append(phone)
    try:
        yield shop, phones
    finally:
        for phone in phones:
            phone.line.release()
            phone.end()
        shop.kill()
        shutil.rmtree(folder, ignore_errors=True)


def walk_of(seed: int, shop: Shop, phones: list[Phone]) -> Walk:
    for phone in phones:
        phone.line.begin(f"{seed} {phone.name}")
    return Walk(shop, phones, str(uuid4()), random.Random(seed))


def one_walk(walk: Walk) -> list[str]:
    """What was lost in it."""
    for phone in walk.phones:
        walk.open(phone)
    begin(walk)
    for phone in walk.phones:
        phone.line.bad = True
    for _ in range(MOVES):
        walk.move()
    stuck = settle(walk)
    found = comparison.held(walk.shop.data, walk.ticket)
    lost = comparison.lost(walk.notes, found, load_book(demo_book()), walk.shop.photos_gone[walk.ticket])
    for phone in walk.phones:
        if page := phone.open(walk.ticket):
            lost += comparison.unlike(phone.name, page.read("now"), found)
            phone.close(page)
    return stuck + lost


def begin(walk: Walk) -> None:
    """The family, with a good line: the rest is asked of it. And in some walks a first backup."""
    page = walk.phones[0].pages[0]
    walk.hand.note(page, lambda page: walk.hand.take(page, "instrument", "family", "steel-string"))
    page.tab.evaluate(ONLINE)
    if walk.dice.random() < 0.4:
        walk.shop.back_up()


def settle(walk: Walk) -> list[str]:
    """The line is back, shop and usual book too: until nothing waits."""
    walk.shop.start()
    walk.shop.put_usual_book_back()
    return [
        stuck
        for _ in range(1 + walk.was_set_back)  # a phone without news of that hears of it from the next page
        for phone in walk.phones
        for stuck in settled(walk, phone)
    ]


def settled(walk: Walk, phone: Phone) -> Iterator[str]:
    """Its pages are closed once they hold nothing that the shop lacks."""
    phone.line.bad = phone.line.cut = False
    phone.line.release()
    walk.look_for_pages(phone)
    if not phone.pages:
        phone.open(walk.ticket)
    for page in phone.pages:
        walk.photos_told(page)
    if not _sent(phone):
        yield f"{phone.name} never got rid of what it holds"
    walk.look_at_foot(phone)
    for page in list(phone.pages):
        with suppress(Exception):
            page.tab.close()
    phone.pages = []


def _sent(phone: Phone) -> bool:
    """Until the phone holds nothing that the shop lacks; what was refused stays."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        waits = 0
        for page in phone.pages:
            page.tab.evaluate(ONLINE)
            page.wait(150)
            waits += sum(one["state"] == "waiting" for one in page.read("kept"))
            waits += page.read("foot")["state"] in ("typing", "saving", "unsaved", "unkept", "full") and not (
                phone.kind.has_database
            )
        if not waits:
            return True
        page.wait(100)
    return False


def proved(folder: Path, plant: Plant, times: int, first_seed: int) -> Trial:
    """Walks through a copy of the program with that fault, until one loses something. `lost` is 1 if none
    does."""
    tree = planted(plant, folder / "program")
    command = [sys.executable, str(tree / FAULTS), "--only", "walks", "--until-lost"]
    command += ["--times", str(times), "--seed", str(first_seed)]
    paths = os.pathsep.join(map(str, (tree, tree / "bench")))
    told = []
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": paths}, cwd=tree
    ) as run:
        assert run.stdout
        for line in run.stdout:
            print(line, end="", file=sys.stderr, flush=True)
            told += TOLD.findall(line)
    shutil.rmtree(folder, ignore_errors=True)
    if not told or run.returncode:
        raise RuntimeError(f"the walks with plant {plant.number} ended with {run.returncode}")
    seed, says = told[-1]
    found = says != "none lost"
    saw = f"found in walk {len(told)}, seed {seed}: {says.split('; ')[0]}" if found else "not found"
    return Trial(f"planted {plant.number}: {plant.fault}", len(told), int(not found), saw)
