"""What a save costs the server: `python bench/saves.py [N]` prints median and 95 % point in ms for N saves.

Through the application itself, the demo shop's book, no network: gate, key, transaction on the disk,
findings, price, answer. The ticket is the demo walk-in with most answers; each save says something not
said before, so that no quote comes out of a cache. Beside the time by the clock stands the processor's
own, which other programs on the machine lengthen less.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path
from statistics import quantiles
from tempfile import TemporaryDirectory
from time import perf_counter, process_time
from uuid import uuid4

import badge
from flask.testing import FlaskClient

from intake.app import create_app
from intake.book.answers import to_fields
from intake.book.files.load import load_book
from intake.config import Settings, demo_book
from intake.quoting.walkin import load_walkin
from intake.store.ids import uuid7

Pairs = list[tuple[str, str]]


class Phone:
    """A phone at one ticket: it knows what the last answer told, as a real one does."""

    def __init__(self, client: FlaskClient, cookie: str) -> None:
        self.client, self.headers = client, {"Cookie": cookie, "Device": "bench"}
        self.ticket = uuid7(datetime.now(UTC))
        self.version = "0"

    def save(self, step: str, pairs: Pairs) -> tuple[float, float]:
        """One save: milliseconds by the clock and of the processor."""
        sent = {"based_on": [self.version], "passed": [""]}
        for name, value in pairs:
            sent.setdefault(name, []).append(value)
        headers = {**self.headers, "Idempotency-Key": str(uuid4()), "Origin": "http://localhost"}
        begin, worked = perf_counter(), process_time()
        answer = self.client.post(f"/tickets/{self.ticket}/steps/{step}", data=sent, headers=headers)
        took = ((perf_counter() - begin) * 1000, (process_time() - worked) * 1000)
        if answer.status_code != 200:
            raise RuntimeError(f"{step}: {answer.status} {answer.text[:300]}")
        self.version = answer.headers["Version"]
        return took


def by_step() -> dict[str, Pairs]:
    """What the walk-in with most answers says on each step."""
    book = load_book(demo_book())
    walkins = [load_walkin(path) for path in sorted((demo_book() / "walkins").glob("*.toml"))]
    pairs = to_fields(book, max(walkins, key=lambda one: len(one.answers)).answers)
    steps: dict[str, Pairs] = {}
    for name, value in pairs:
        steps.setdefault(book.questions[name.split(".")[0]].step, []).append((name, value))
    return steps


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    with TemporaryDirectory() as folder:
        cookie = badge.cookie(Path(folder))
        phone = Phone(create_app(Settings(Path(folder), demo_book())).test_client(use_cookies=False), cookie)
        steps = by_step()
        for step, pairs in steps.items():
            phone.save(step, pairs)
        neck = [pair for pair in steps["neck"] if pair[0] != "relief"]
        times = [phone.save("neck", [*neck, ("relief", f"0.{10000 + n * 7:06} in")]) for n in range(count)]
        again = [phone.save("customer", [("customer_name", f"Customer {n}")]) for n in range(count)]
    for name, each in (("a measure", times), ("a name", again)):
        for kind, ms in zip(("clock", "processor"), zip(*each, strict=True), strict=True):
            cuts = quantiles(ms, n=20)
            print(f"{name:<10} {count} saves   {kind:<10} p50 {cuts[9]:5.1f} ms   p95 {cuts[18]:5.1f} ms")


if __name__ == "__main__":
    main()
