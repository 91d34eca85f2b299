"""How the cost of a quote grows: `python bench/growth.py` prints medians against rows and against answers.

Rows grow by taking every finding table several times over; answers by pinning more places on the body.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from quote import milliseconds

from intake.book.files.load import load_book
from intake.book.model import Book
from intake.config import demo_book
from intake.quoting.model import Walkin
from intake.quoting.quote import make_quote
from intake.quoting.walkin import load_walkin

TODAY = date(2026, 11, 24)
TIMES = (1, 2, 4, 8, 16)
PINS = (0, 16, 32, 64, 128)
PIN = {"part": "top", "kind": "crack", "state": "closed", "size": "3 in"}
ROUNDS = 30


def taller(book: Book, times: int) -> Book:
    """The book with each finding table's rows `times` over; the copies are in the way and change nothing."""
    tables = {
        name: replace(table, rows=table.rows * times) if table.policy == "first" else table
        for name, table in book.tables.items()
    }
    return replace(book, tables=tables)


def pinned(walkin: Walkin, pins: int) -> Walkin:
    answers: dict[str, Any] = {**walkin.answers, "pins": [PIN] * pins}
    return replace(walkin, answers=answers)


def main() -> None:
    book = load_book(demo_book())
    walkins = [load_walkin(path) for path in sorted((demo_book() / "walkins").glob("*.toml"))]
    walkin = max(walkins, key=lambda each: len(each.answers))
    print(f"{'rows':>8}{'median, ms':>12}")
    for times in TIMES:
        grown = taller(book, times)
        rows = sum(len(table.rows) for table in grown.tables.values())
        took = milliseconds(lambda grown=grown: make_quote(grown, walkin, TODAY), ROUNDS)
        print(f"{rows:>8}{took:>12.2f}")
    print(f"\n{'pins':>8}{'median, ms':>12}")
    for pins in PINS:
        taken = pinned(walkin, pins)
        took = milliseconds(lambda taken=taken: make_quote(book, taken, TODAY), ROUNDS)
        print(f"{pins:>8}{took:>12.2f}")


if __name__ == "__main__":
    main()
