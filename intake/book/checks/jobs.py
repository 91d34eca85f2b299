"""Jobs, hours, prices and the shop's own figures."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from fractions import Fraction
from graphlib import CycleError, TopologicalSorter

from intake.book.files.shop import closed_span
from intake.book.files.soundness import order_place
from intake.book.model import Book, Job, Shop
from intake.book.problems import Problem

MOST_HOURS = 80
YEAR = timedelta(days=365)
LONGEST_WAIT = YEAR
DAY = timedelta(days=1)


def job_problems(book: Book) -> list[Problem]:
    """Jobs that cannot be, that nothing asks for, or whose order contradicts itself."""
    return [
        *(problem for job in book.jobs.values() for problem in _hours(job, book)),
        *_prices(book),
        *_stages(book),
        *_circles(book),
        *_unasked(book),
        *_savings(book),
    ]


def _at(book: Book, job: str) -> int | None:
    return book.places.get(("jobs.csv", job))


def _hours(job: Job, book: Book) -> Iterator[Problem]:
    hours, row = job.hours, _at(book, job.id)
    if hours.quick < 0:
        yield Problem("jobs.csv", row, "quick", f"{float(hours.quick):g} hours: hours cannot be negative.")
    if not hours.quick <= hours.usual <= hours.slow:
        sentence = (
            f"{float(hours.quick):g}, {float(hours.usual):g}, {float(hours.slow):g} hours: "
            "quick may not be more than usual, nor usual more than slow."
        )
        yield Problem("jobs.csv", row, "usual", sentence)
    if job.wait > LONGEST_WAIT:
        sentence = f"A wait of {job.wait.days} days is more than a year."
        yield Problem("jobs.csv", row, "wait", sentence)
    if hours.slow > MOST_HOURS:
        sentence = f"{float(hours.slow):g} hours is more than {MOST_HOURS}; is a decimal point missing?"
        yield Problem("jobs.csv", row, "slow", sentence)


def _prices(book: Book) -> Iterator[Problem]:
    for job in book.jobs.values():
        if job.price is not None and job.price < 0:
            yield Problem("jobs.csv", _at(book, job.id), "price", f"{job.price}: a price is not negative.")
    for part in book.parts.values():
        for column, amount in (("cost", part.cost), ("price", part.price)):
            if amount is not None and amount < 0:
                row = book.places.get(("parts.csv", part.id))
                yield Problem("parts.csv", row, column, f"{amount}: an amount is not negative.")


def _stages(book: Book) -> Iterator[Problem]:
    """A job of an earlier stage cannot come after one of a later stage."""
    for job in book.jobs.values():
        for id in job.after:
            other = book.jobs.get(id)
            if other and other.stage > job.stage:
                sentence = f"It comes after {id}, but stage {job.stage} is before stage {other.stage}."
                yield Problem(*order_place(book, job.id, "after"), "after", sentence)


def _circles(book: Book) -> Iterator[Problem]:
    """Jobs that bring each other in: then none of them can be chosen without the others."""
    sorter: TopologicalSorter[str] = TopologicalSorter()
    for job in book.jobs.values():
        sorter.add(job.id, *job.needs, *job.needs_if_found)
    try:
        sorter.prepare()
    except CycleError as error:
        circle = error.args[1][::-1]
        sentence = f"These jobs need each other in a circle: {' → '.join(circle)}."
        yield Problem(*order_place(book, circle[0], "needs if found"), "needs if found", sentence)


def _unasked(book: Book) -> Iterator[Problem]:
    reached = set(book.remedies.values_of("job"))
    waiting = list(reached)
    while waiting:
        job = book.jobs.get(waiting.pop())
        new = set(job.needs) - reached if job else set()
        reached |= new
        waiting += new
    for id in book.jobs:
        if id not in reached:
            yield Problem("jobs.csv", _at(book, id), "id", f"Nothing ever recommends “{id}”.")


def _savings(book: Book) -> Iterator[Problem]:
    for operation in book.operations.values():
        saving = operation.saving
        row = book.places.get(("operations.csv", operation.id))
        if saving.slow > MOST_HOURS:
            sentence = f"{float(saving.slow):g} hours is more than {MOST_HOURS}; is a decimal point missing?"
            yield Problem("operations.csv", row, "slow", sentence)
        if not Fraction(0) <= saving.quick <= saving.usual <= saving.slow:
            sentence = "Hours saved are not negative, and quick ≤ usual ≤ slow."
            yield Problem("operations.csv", row, "usual", sentence)


def shop_problems(book: Book) -> list[Problem]:
    """Figures of shop.toml that no shop has."""
    shop = book.shop
    checks = (
        ("labour_rate", shop.labour_rate < 0, "The labour rate is negative."),
        ("hours", not any(shop.open_hours.values()), "The shop is never open."),
        (
            "productive_share",
            not 0 < shop.productive_share <= 1,
            "The share of the day spent at the bench is above 0 % and at most 100 %.",
        ),
        (
            "supplies_rate",
            not 0 <= shop.supplies_rate <= 1,
            "Supplies are between 0 % and 100 %; write 2 % or 0.02.",
        ),
        (
            "deposit_rate",
            not 0 <= shop.deposit_rate <= 1,
            "The deposit is between 0 % and 100 %; write 25 % or 0.25.",
        ),
        ("closed", _closed_for(shop) >= YEAR, "The shop is closed for a whole year or more."),
        ("minimum", shop.minimum < 0, "The minimum charge is negative."),
        ("rounding", shop.rounding < 0, "The rounding step is negative."),
        ("valid_days", not 0 < shop.valid_days <= 366, "A quote is good for 1 to 366 days."),
        (
            "answer_days",
            not 0 <= shop.answer_days <= shop.valid_days,
            "The days assume a yes within 0 days and as many as the quote is good for.",
        ),
        ("parts_markup", shop.parts_markup > 10, "A markup is between 0 % and 1000 %; write 60 % or 0.6."),
        (
            "worth_warning",
            shop.worth_warning > 10,
            "The share of the worth is at most 1000 %; write 60 % or 0.6.",
        ),
        ("discount_most", shop.discount_most > 1, "A discount is at most 100 %; write 15 % or 0.15."),
        (
            "rounding",
            shop.rounding > max(shop.labour_rate, shop.minimum),
            "The rounding step is more than an hour’s work; 0.05 rounds to five cents.",
        ),
    )
    return [Problem("shop.toml", None, key, sentence) for key, wrong, sentence in checks if wrong]


def _closed_for(shop: Shop) -> timedelta:
    """The longest run of days without an open hour: spans that meet or have only days off between them."""
    longest, begun, ended = timedelta(), date.min, date.min
    for first, last in sorted(map(closed_span, shop.closed)):
        if ended == date.min or _opens_between(ended, first, shop):
            begun = first
        ended = max(ended, last)
        longest = max(longest, ended - begun + DAY)
    return longest


def _opens_between(last: date, first: date, shop: Shop) -> bool:
    """Whether any day between those two has open hours; within a week it shows."""
    between = min((first - last).days - 1, 7)
    return any(shop.open_hours.get((last + ahead * DAY).weekday()) for ahead in range(1, between + 1))
