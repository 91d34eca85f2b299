"""Estimate and date with other tickets on the bench: `python bench/estimate.py` prints milliseconds and days.

The walk-in with the most answers is quoted with 0, 50 and 500 accepted tickets on the bench; each of these is
a sample walk-in's “put right”, promised behind all that were accepted before it. Then the same through the
app: one step saved with a relief of its own each time, so that the quote is computed anew, in processor time
(what other processes take of the machine is not counted).
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, date, datetime
from fractions import Fraction
from itertools import cycle, islice
from pathlib import Path
from statistics import median, quantiles
from tempfile import TemporaryDirectory
from time import thread_time
from uuid import UUID, uuid4

import badge
from quote import milliseconds
from store import cases
from werkzeug.datastructures import MultiDict

from intake.app import create_app
from intake.book.files.load import load_book
from intake.book.model import Book
from intake.config import Settings, demo_book
from intake.quoting.assess import assess
from intake.quoting.calendar import Bench
from intake.quoting.model import Booking, Walkin
from intake.quoting.plan import make_plan
from intake.quoting.quote import cost_jobs, make_quote, open_bench
from intake.quoting.schedule import booked_by
from intake.quoting.walkin import load_walkin
from intake.services.commitments import bookings
from intake.store import bench, tickets

TODAY = date(2026, 11, 24)
NOW = datetime(2026, 11, 24, 15, tzinfo=UTC)
TICKETS = (0, 50, 500)
ROUNDS = 50
SAVES = 200
Pieces = list[tuple[date, Fraction]]


def accepted(book: Book, walkins: list[Walkin], most: int) -> Iterator[tuple[Pieces, date]]:
    """The bench hours of one ticket after the other, by day, and the day it is promised for."""
    taken: Counter[date] = Counter()
    bare = Bench(book.shop)
    for walkin in islice(cycle(walkins), most):
        booked = [Booking(hours, day) for day, hours in taken.items()]
        offer = make_quote(book, walkin, TODAY, booked=booked).offers["put_right"]
        pieces = [(one.not_before or TODAY, one.hours) for one in booked_by(offer, bare)]
        for day, hours in pieces:
            taken[day] += hours
        yield pieces, offer.ready


def pure(book: Book, walkin: Walkin, promises: list[tuple[Pieces, date]]) -> None:
    """The core alone, with a bench filled for each quote and with one that is filled once."""
    assessment = assess(book, walkin)
    plan = make_plan(assessment, book)
    took = milliseconds(lambda: cost_jobs(plan, assessment.facts, book), ROUNDS)
    print(f"{walkin.title}; hours and job prices {took:.2f} ms; median of {ROUNDS}")
    print(f"{'tickets':>8}{'days':>6}{'bench h':>9}{'make_quote, ms':>16}{'bench kept, ms':>16}  ready")
    for count in TICKETS:
        taken: Counter[date] = Counter()
        for pieces, _ in promises[:count]:
            for day, hours in pieces:
                taken[day] += hours
        booked = tuple(Booking(hours, day) for day, hours in sorted(taken.items()))
        full = open_bench(book, TODAY, booked=booked)
        anew = milliseconds(lambda booked=booked: make_quote(book, walkin, TODAY, booked=booked), ROUNDS)
        kept = milliseconds(
            lambda booked=booked, full=full: make_quote(book, walkin, TODAY, booked=booked, bench=full),
            ROUNDS,
        )
        ready = make_quote(book, walkin, TODAY, booked=booked).offers["put_right"].ready
        hours = float(sum(one.hours for one in booked))
        print(f"{count:>8}{len(booked):>6}{hours:>9.0f}{anew:>16.2f}{kept:>16.2f}  {ready}")


def through_the_app(book: Book, promises: list[tuple[Pieces, date]]) -> None:
    """Saves of one step, and the reading of the bench in them."""
    print(f"{'tickets':>8}{'bench read, ms':>16}{'save median, ms':>17}{'95 %':>7}{'most':>7}   of {SAVES}")
    for count in TICKETS:
        with TemporaryDirectory() as folder:
            app = create_app(Settings(data=Path(folder), book=demo_book(), now=lambda: NOW))
            here, client = app.extensions["context"], app.test_client()
            for pair in badge.cookie(Path(folder), now=NOW).split("; "):
                client.set_cookie(*pair.split("=", 1))
            with here.store.writing() as db:
                for number, (pieces, ready) in enumerate(promises[:count]):
                    id = str(UUID(int=number))
                    tickets.ensure(db, id, NOW)
                    bench.put(db, id, pieces, ready)
            read = milliseconds(lambda here=here: bookings(here.store.db, "", here.today), ROUNDS)
            took = list(saves(client, book))
            worst = quantiles(took, n=20)[-1]
            print(f"{count:>8}{read:>16.2f}{median(took):>17.2f}{worst:>7.2f}{max(took):>7.2f}")
            here.store.close()


def saves(client, book: Book) -> Iterator[float]:
    """Milliseconds of each save of the step with the relief, on a ticket that has all the rest."""
    ticket, chance = str(uuid4()), random.Random(1)
    steps = cases(book)[2].steps
    for step, fields in steps:
        answer = client.post(
            f"/tickets/{ticket}/steps/{step}", data=MultiDict([*fields, ("based_on", "0"), ("passed", "")])
        )
    step, fields = next((s, f) for s, f in steps if any(name == "relief" for name, _ in f))
    for _ in range(SAVES):
        relief = ("relief", f"0.00{chance.randrange(400, 999)} in")
        typed = [relief if name == "relief" else (name, value) for name, value in fields]
        begin = thread_time()
        answer = client.post(
            f"/tickets/{ticket}/steps/{step}",
            data=MultiDict([*typed, ("based_on", answer.headers["Version"]), ("passed", "")]),
            headers={"Idempotency-Key": str(uuid4())},
        )
        yield (thread_time() - begin) * 1000
        assert answer.status_code == 200, answer.text


def main() -> None:
    book = load_book(demo_book())
    walkins = [load_walkin(path) for path in sorted((demo_book() / "walkins").glob("*.toml"))]
    promises = list(accepted(book, walkins, max(TICKETS)))
    pure(book, max(walkins, key=lambda each: len(each.answers)), promises)
    print()
    through_the_app(book, promises)


if __name__ == "__main__":
    main()
