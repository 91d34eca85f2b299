"""Figures that can be and hardly are: a unit mistaken, a point left out, minutes for hours.

What is said here is a doubt, never an error: whoever owns the book may mean it. The bounds are wide;
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from intake.book.model import Book, Range
from intake.book.problems import Problem
from intake.book.tables import Row, Table
from intake.trade.units import show_measure

LENGTHS: dict[str, tuple[str, str]] = {
    "action_": ("1/64", "1/4"), "relief_": ("-0.005", "0.040"), "nut_": ("0.005", "0.130"),
    "saddle_": ("1/64", "1/2"), "crown_": ("0.010", "0.060"),
}  # fmt: skip
"""Targets in inches by how their names begin: the least and the most that any family wants. ranges.csv has
narrower ones family by family."""
DEFAULTS = {
    "default_scale_length": ("9", "45"),
    "default_spread": ("0.8", "3.5"),
    "default_board_width": ("1", "3.5"),
}
MOST_OVER_COST = 10
MOST_OVER_HOURS = 5


def plausibility_problems(book: Book) -> list[Problem]:
    """Doubts about units, prices and hours, each with its place."""
    found = (*_lengths(book), *_parts(book), *_flat_prices(book), *_days(book))
    return [Problem(p.file, p.row, p.column, p.sentence, doubt=True) for p in found]


def _lengths(book: Book) -> Iterator[Problem]:
    for table, ranges in ((book.targets, LENGTHS), (book.defaults, DEFAULTS)):
        for row in table.rows:
            kinds = _families(table, row, book)
            for output in table.outputs:
                value = row.outputs.get(output.name)
                bounds = next((ends for start, ends in ranges.items() if output.name.startswith(start)), None)
                if isinstance(value, Fraction) and output.unit == "in":
                    own = [r for r in book.ranges if r.family in kinds and output.name.startswith(r.figure)]
                    yield from _beyond(table, row, output.heading, value, own, bounds)


def _families(table: Table, row: Row, book: Book) -> tuple[str, ...]:
    """The families that the row names; none where it is for all."""
    at = next((n for n, column in enumerate(table.inputs) if column.id == "family"), None)
    if at is None or row.tests[at].is_any:
        return ()
    return tuple(id for id in book.families if row.tests[at].holds(id))


def _beyond(
    table: Table,
    row: Row,
    heading: str,
    value: Fraction,
    own: Sequence[Range],
    bounds: tuple[str, str] | None,
) -> Iterator[Problem]:
    """Judged by the ranges of the families that the row is for, else by those of any family."""
    if own:
        low, high = min(r.least for r in own), max(r.most for r in own)
    elif bounds:
        low, high = map(Fraction, bounds)
    else:
        return
    if not low <= value <= high:
        shown, least, most = (show_measure(length, "in", "mm") for length in (value, low, high))
        kinds = " and ".join(dict.fromkeys(r.family for r in own))
        usual = f"{least} to {most} is usual{kinds and f' for {kinds}'}"
        sentence = f"This is {shown}; {usual}. Is the unit in the heading right?"
        yield Problem(table.file, row.line, heading, sentence)


def _parts(book: Book) -> Iterator[Problem]:
    for part in book.parts.values():
        row, price = book.places.get(("parts.csv", part.id)), part.price
        if price is None or not part.cost:
            continue
        if price < part.cost:
            yield Problem("parts.csv", row, "price", f"{price} is less than the {part.cost} that it costs.")
        elif price > part.cost * MOST_OVER_COST:
            times = f"{price} is {price / part.cost:.0f} times its cost"
            yield Problem("parts.csv", row, "price", f"{times}; is a decimal point missing?")


def _flat_prices(book: Book) -> Iterator[Problem]:
    for job in book.jobs.values():
        hourly = Decimal(float(job.hours.usual)) * book.shop.labour_rate
        if job.price is not None and hourly and job.price > hourly * MOST_OVER_HOURS:
            row = book.places.get(("jobs.csv", job.id))
            sentence = (
                f"{job.price} is {job.price / hourly:.0f} times what the usual hours cost ({hourly:.2f}); "
                "is a decimal point missing?"
            )
            yield Problem("jobs.csv", row, "price", sentence)


def _days(book: Book) -> Iterator[Problem]:
    """Hours that are more than a working day even when all goes well; most often they are minutes."""
    longest = max((_open(spans) for spans in book.shop.open_hours.values()), default=Fraction(0))
    for job in book.jobs.values():
        if longest and job.hours.quick > longest:
            sentence = (
                f"{float(job.hours.quick):g} hours is more than a working day of {float(longest):g}, even "
                "when it goes quickly; are these minutes?"
            )
            yield Problem("jobs.csv", book.places.get(("jobs.csv", job.id)), "quick", sentence)


def _open(spans: tuple) -> Fraction:
    minutes = sum((end.hour - start.hour) * 60 + end.minute - start.minute for start, end in spans)
    return Fraction(minutes, 60)
