"""Estimate and date with other tickets on the bench: `python bench/estimate.py` prints milliseconds and days.

The walk-in with the most answers is quoted with 0, 50 and 500 accepted tickets booked, each as the work and
waits of a sample walk-in's “put right” give it; their days follow one another as the bench has time.
"""

from __future__ import annotations

from datetime import date
from itertools import cycle, islice

from quote import milliseconds

from intake.book.load import load_book
from intake.book.model import Book
from intake.config import demo_book
from intake.quoting.assess import assess
from intake.quoting.calendar import Bench
from intake.quoting.model import Booked, Walkin
from intake.quoting.plan import make_plan
from intake.quoting.quote import cost_jobs, make_quote
from intake.quoting.schedule import booked_by
from intake.quoting.walkin import load_walkin

TODAY = date(2026, 11, 24)
TICKETS = (0, 50, 500)
ROUNDS = 50


def bookings(book: Book, walkins: list[Walkin], tickets: int) -> list[Booked]:
    """The bench hours of that many accepted tickets, all accepted today with an empty bench in mind."""
    bench = Bench(book.shop)
    each = [booked_by(make_quote(book, walkin, TODAY).offers["put_right"], bench) for walkin in walkins]
    return [one for ticket in islice(cycle(each), tickets) for one in ticket]


def main() -> None:
    book = load_book(demo_book())
    walkins = [load_walkin(path) for path in sorted((demo_book() / "walkins").glob("*.toml"))]
    walkin = max(walkins, key=lambda each: len(each.answers))
    assessment = assess(book, walkin)
    plan = make_plan(assessment, book)
    took = milliseconds(lambda: cost_jobs(plan, assessment.facts, book), ROUNDS)
    print(f"{walkin.title}; hours and job prices {took:.2f} ms; {ROUNDS} rounds")
    print(f"{'tickets':>8}{'bookings':>10}{'bench h':>9}{'make_quote, ms':>16}  put right ready")
    for tickets in TICKETS:
        booked = bookings(book, walkins, tickets)
        took = milliseconds(lambda booked=booked: make_quote(book, walkin, TODAY, booked=booked), ROUNDS)
        ready = make_quote(book, walkin, TODAY, booked=booked).offers["put_right"].ready
        hours = float(sum(one.hours for one in booked))
        print(f"{tickets:>8}{len(booked):>10}{hours:>9.0f}{took:>16.2f}  {ready}")


if __name__ == "__main__":
    main()
