"""Fifty phones at work: `python bench/load.py [--phones 50] [--seconds 20] [--pauses 2 1 0.5 0] [--tls]`.

The shop in a process of its own; each phone is enrolled, signed in, keeps its connection and takes the
demo's walk-ins one after the other, step by step, with a relief of its own so that every quote is computed
anew. After each answer it waits for the pause; with none, it sends as soon as it is answered, which no thumb
does. The phones run on the same processors as the server and take their share.

`--floods` measures one phone's saves quiet and during each flood of `floods.py`.
"""

from __future__ import annotations

import argparse
import random
import ssl
import threading
import time
from collections.abc import Callable
from contextlib import nullcontext
from datetime import UTC, datetime
from http.client import HTTPConnection, HTTPSConnection
from pathlib import Path
from statistics import quantiles
from tempfile import TemporaryDirectory
from urllib.parse import urlencode
from uuid import uuid4

import badge
from floods import FLOODS, Target, flooded
from server import HOST, launched
from store import Case, cases

from intake.book.files.load import load_book
from intake.config import demo_book
from intake.store.ids import uuid7

DAY = 10 * 3600
STEPS_OF_A_WALKIN = 12


class Phone:
    """One phone: `work` until the end, the milliseconds of every save in `took`."""

    def __init__(
        self, connect: Callable[[], HTTPConnection], cookie: str, walkins: list[Case], seed: int
    ) -> None:
        self.connect, self.cookie, self.walkins = connect, cookie, walkins
        self.chance = random.Random(seed)
        self.took: list[float] = []

    def work(self, end: float, pause: float) -> None:
        line = self.connect()
        time.sleep(self.chance.random() * pause)
        while True:
            ticket = uuid7(datetime.now(UTC))
            for step, fields in self.chance.choice(self.walkins).steps:
                if time.perf_counter() > end:
                    return
                self.took.append(self.save(line, f"/tickets/{ticket}/steps/{step}", fields))
                time.sleep(pause)

    def save(self, line: HTTPConnection, path: str, fields: list[tuple[str, str]]) -> float:
        own = ("relief", f"0.00{self.chance.randrange(400, 999)} in")
        typed = [own if name == "relief" else (name, value) for name, value in fields]
        body = urlencode([*typed, ("based_on", "0"), ("passed", "" if typed else "not_assessed")])
        headers = {
            "Cookie": self.cookie,
            "Idempotency-Key": str(uuid4()),
            "Device": self.cookie[-8:],
            "Content-Type": "application/x-www-form-urlencoded",
        }
        begin = time.perf_counter()
        line.request("POST", path, body, headers)
        answer = line.getresponse()
        answer.read()
        if answer.status not in (200, 422):
            raise RuntimeError(f"{path} answered {answer.status}")
        return (time.perf_counter() - begin) * 1000


def run(phones: list[Phone], seconds: float, pause: float) -> list[float]:
    """The sorted milliseconds of all saves."""
    end = time.perf_counter() + seconds
    threads = [threading.Thread(target=phone.work, args=(end, pause)) for phone in phones]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    took = sorted(time for phone in phones for time in phone.took)
    for phone in phones:
        phone.took = []
    return took


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--phones", type=int, default=50)
    parser.add_argument("--seconds", type=float, default=20)
    parser.add_argument("--pauses", type=float, nargs="+", default=[2, 1, 0.5, 0])
    parser.add_argument("--tls", action="store_true")
    parser.add_argument("--floods", action="store_true", help="one phone, quiet and under attack")
    given = parser.parse_args()
    if given.floods:
        under_attack(given.seconds)
        return
    walkins = cases(load_book(demo_book()))
    with TemporaryDirectory() as folder, launched(Path(folder), given.tls) as (port, context):
        prefix = "__Host-" if context else ""

        def connect() -> HTTPConnection:
            return _line(port, context)

        cookies = [badge.cookie(Path(folder), prefix) for _ in range(given.phones)]
        phones = [Phone(connect, cookie, walkins, seed) for seed, cookie in enumerate(cookies)]
        run(phones[:1], 2, 0)
        print(f"{given.phones} phones, {given.seconds:g} s each row; walk-ins in a day of ten hours")
        print("| pause, s | saves/s | median, ms | 95 %, ms | 99 %, ms | most, ms | walk-ins a day |")
        print("|---|---|---|---|---|---|---|")
        for pause in given.pauses:
            took = run(phones, given.seconds, pause)
            cuts, rate = quantiles(took, n=100), len(took) / given.seconds
            day = rate * DAY / STEPS_OF_A_WALKIN
            figures = f"{cuts[49]:.1f} | {cuts[94]:.1f} | {cuts[98]:.1f} | {took[-1]:.0f} | {day:,.0f}"
            print(f"| {pause:g} | {rate:.0f} | {figures} |", flush=True)


def under_attack(seconds: float) -> None:
    """One phone's saves, quiet before and after, and during each flood."""
    walkins = cases(load_book(demo_book()))
    with TemporaryDirectory() as folder, launched(Path(folder), False) as (port, _):
        cookie = badge.cookie(Path(folder))
        phone = Phone(lambda: _line(port, None), cookie, walkins, 1)
        target = Target(port, cookie, _quoted(port, cookie, walkins[0]), Path(folder) / "quotes")
        run([phone], 5, 0.1)
        quiet = quantiles(run([phone], seconds, 0.1), n=20)[18]
        print(f"one phone, a save every 0.1 s, {seconds:g} s each row")
        print("| flood | saves | median, ms | 95 %, ms | most, ms | 95 % over quiet |")
        print("|---|---|---|---|---|---|")
        for name in ("none", *FLOODS, "none again"):
            with flooded(name, target) if name in FLOODS else nullcontext():
                took = run([phone], seconds, 0.1)
            cuts = quantiles(took, n=20)
            figures = f"{cuts[9]:.0f} | {cuts[18]:.0f} | {took[-1]:.0f} | {cuts[18] / quiet:.1f}"
            print(f"| {name} | {len(took)} | {figures} |", flush=True)


def _quoted(port: int, cookie: str, walkin: Case) -> str:
    """A ticket with that walk-in and a quote."""
    ticket, headers = str(uuid7(datetime.now(UTC))), {"Cookie": cookie}
    form = urlencode([pair for _, fields in walkin.steps for pair in fields])
    kind = {"Content-Type": "application/x-www-form-urlencoded"}
    for path, body in ((f"/tickets/{ticket}", form), (f"/tickets/{ticket}/quotes", "")):
        line = _line(port, None)
        line.request("POST", path, body, headers | kind)
        answer = line.getresponse()
        if answer.status != 303:
            raise RuntimeError(f"{path} answered {answer.status}: {answer.read()[:300]!r}")
    return ticket


def _line(port: int, context: ssl.SSLContext | None) -> HTTPConnection:
    return HTTPSConnection(HOST, port, context=context) if context else HTTPConnection(HOST, port)


if __name__ == "__main__":
    main()
