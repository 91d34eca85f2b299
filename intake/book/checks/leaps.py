"""Figures that are more than five times, or less than a fifth, of what the book before had there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from fractions import Fraction

from intake.book.model import Book
from intake.book.problems import Problem
from intake.book.tables import Table

MOST = 5
READ_ANEW = ": numbers typed without a unit on open tickets would be read in the new one."
Figures = Mapping[tuple[str, str, str], Fraction]


def leap_problems(before: Book, book: Book) -> list[Problem]:
    """Doubts about prices, hours, targets and the rate, each beside what stood there."""
    old, new = _figures(before), _figures(book)
    return _other_units(before, book) + [
        Problem(file, book.places.get((file, id)) or _line(id), column, _sentence(old[place], figure), True)
        for place, figure in new.items()
        for file, id, column in [place]
        if place in old and _leaps(old[place], figure)
    ]


def _other_units(before: Book, book: Book) -> list[Problem]:
    """Questions whose bare numbers mean something else now; on open tickets they are in the old unit."""
    if before.shop.measures != book.shop.measures:
        moved = f"measures was {before.shop.measures} and is {book.shop.measures} now"
        return [Problem("shop.toml", None, "measures", f"{moved}{READ_ANEW}", True)]
    both = [(before.questions[id], now) for id, now in book.questions.items() if id in before.questions]
    return [
        Problem(
            "checklist.toml",
            book.places.get(("checklist.toml", now.id)),
            "unit",
            f"This was {was.typed_in} and is {now.typed_in} now{READ_ANEW}",
            True,
        )
        for was, now in both
        if was.typed_in != now.typed_in
    ]


def _leaps(was: Fraction, now: Fraction) -> bool:
    return was * now < 0 or (was != 0 != now and not 1 <= MOST * abs(now / was) <= MOST**2)


def _sentence(was: Fraction, now: Fraction) -> str:
    return f"This was {float(was):g} and is {float(now):g} now, a change of more than {MOST} times."


def _line(id: str) -> int | None:
    return int(id) if id.isdigit() else None


def _figures(book: Book) -> dict[tuple[str, str, str], Fraction]:
    """Every figure by file, id or row, and column; what has none is left out."""
    found: dict[tuple[str, str, str], Fraction] = {}
    for job in book.jobs.values():
        for column in ("quick", "usual", "slow"):
            found["jobs.csv", job.id, column] = getattr(job.hours, column)
        found |= _amount("jobs.csv", job.id, "price", job.price)
    for part in book.parts.values():
        found |= _amount("parts.csv", part.id, "cost", part.cost)
        found |= _amount("parts.csv", part.id, "price", part.price)
    found |= _amount("shop.toml", "", "labour_rate", book.shop.labour_rate)
    for table in (book.targets, book.defaults):
        found |= dict(_outputs(table))
    return found


def _amount(file: str, id: str, column: str, amount: Decimal | None) -> dict[tuple[str, str, str], Fraction]:
    return {} if amount is None else {(file, id, column): Fraction(amount)}


def _outputs(table: Table) -> Iterator[tuple[tuple[str, str, str], Fraction]]:
    """By the number of the row: a table has no ids."""
    for row in table.rows:
        for output in table.outputs:
            value = row.outputs.get(output.name)
            if isinstance(value, Fraction):
                yield (table.file, str(row.line), output.heading.split(" [")[0]), value
