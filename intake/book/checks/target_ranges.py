"""Ranges of targets: low under high, and for heights at the 12th no narrower than a ruler reads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from intake.book.domains import fact_domains
from intake.book.model import Book
from intake.book.partition import Domain, cut
from intake.book.problems import Problem
from intake.book.sfeel import UnaryTests
from intake.book.tables import Output, Row, Table

Placed = tuple[Table, Row]

RULER = Fraction(1, 64)
"""What a ruler reads at the counter; common practice, no source."""
FINEST = "a ruler reads a whole 64th, no finer."
READ_WITH_A_RULER = ("action_bass", "action_treble")
LOW, HIGH = "_low", "_high"


def target_range_problems(book: Book) -> list[Problem]:
    """Ranges upside down or too narrow, as targets.csv gives them and as target_changes.csv leaves them."""
    domains = fact_domains(book)
    return [*_as_given(book.targets, domains), *_as_changed(book, domains)]


def _as_given(table: Table, domains: Mapping[str, Domain]) -> Iterator[Problem]:
    for output in _lows(table):
        for row, low, high in _ranges(table, output.name.removesuffix(LOW), domains):
            if low > high:
                sentence = "The range is upside down: its low end lies over its high end."
                yield Problem(table.file, row.line, output.heading, sentence)
            elif _too_narrow(output, high - low):
                sentence = f"The range is {_shown(high - low)} wide; {FINEST}"
                yield Problem(table.file, row.line, output.heading, sentence)


def _as_changed(book: Book, domains: Mapping[str, Domain]) -> Iterator[Problem]:
    changes = book.target_changes
    for output in _lows(changes) if changes else ():
        name = output.name.removesuffix(LOW)
        for change in changes.rows if changes else ():
            gain = change.outputs.get(name + HIGH, 0) - change.outputs.get(name + LOW, 0)
            widths = _met(book.targets, name, (changes, change), domains) if changes and gain < 0 else ()
            width = min((before + gain for before in widths), default=RULER)
            if _too_narrow(output, width):
                sentence = (
                    f"This leaves a range {_shown(width)} wide; a ruler reads {_shown(RULER)}, no finer."
                )
                yield Problem("target_changes.csv", change.line, output.heading, sentence)


def _met(table: Table, name: str, change: Placed, domains: Mapping[str, Domain]) -> Iterator[Fraction]:
    """How wide the ranges are that a change meets."""
    above: list[Placed] = []
    for row, low, high in _ranges(table, name, domains):
        here = (table, row)
        if _meet(here, change, domains) and not _covered(here, change, above, domains):
            yield high - low
        above.append(here)


def _lows(table: Table) -> Iterator[Output]:
    """The outputs that are the low end of a range, each once."""
    names = {output.name for output in table.outputs}
    for output in table.outputs:
        if output.name.endswith(LOW) and output.name.removesuffix(LOW) + HIGH in names:
            yield output


def _too_narrow(output: Output, width: Fraction) -> bool:
    return output.name.startswith(READ_WITH_A_RULER) and width < RULER


def _ranges(
    table: Table, name: str, domains: Mapping[str, Domain]
) -> Iterator[tuple[Row, Fraction, Fraction]]:
    """Each row that gives an end of the range, with both ends: the other may stand in a row below it."""
    for at, row in enumerate(table.rows):
        low, high = (row.outputs.get(name + end) for end in (LOW, HIGH))
        if (low is None) != (high is None):
            below = [other for other in table.rows[at:] if _meet((table, row), (table, other), domains)]
            low, high = (_first(below, name + end) for end in (LOW, HIGH))
        if low is not None and high is not None:
            yield row, low, high


def _first(rows: list[Row], output: str) -> Fraction | None:
    return next((row.outputs[output] for row in rows if output in row.outputs), None)


def _tests(*rows: Placed) -> dict[str, list[UnaryTests]]:
    """What the rows test, fact by fact; dashes left out."""
    found: dict[str, list[UnaryTests]] = {}
    for table, row in rows:
        for column, test in zip(table.inputs, row.tests, strict=True):
            if not test.is_any:
                found.setdefault(column.id, []).append(test)
    return found


def _samples(id: str, tests: list[UnaryTests], domains: Mapping[str, Domain]) -> list[Any]:
    """Values of the fact, one of each kind that these tests tell apart."""
    return list(cut(domains[id], tests)) if id in domains else []


def _meet(one: Placed, other: Placed, domains: Mapping[str, Domain]) -> bool:
    """Whether two rows can apply together, by each fact that both test."""
    return all(
        any(all(test.holds(sample) for test in tests) for sample in _samples(id, tests, domains))
        for id, tests in _tests(one, other).items()
        if id in domains and len(tests) > 1
    )


def _covered(row: Placed, change: Placed, above: list[Placed], domains: Mapping[str, Domain]) -> bool:
    """Whether wherever row and change apply together a row above applies too, and gives the value."""
    both = _tests(row, change)
    return any(_covers(_tests(higher), both, domains) for higher in above)


def _covers(
    wider: Mapping[str, list[UnaryTests]], both: Mapping[str, list[UnaryTests]], domains: Mapping[str, Domain]
) -> bool:
    return all(
        id in domains
        and all(
            all(test.holds(sample) for test in tests)
            for sample in _samples(id, [*tests, *both.get(id, ())], domains)
            if all(test.holds(sample) for test in both.get(id, ()))
        )
        for id, tests in wider.items()
    )


def _shown(width: Fraction) -> str:
    return f"{float(width * 64):.3g}/64 in"
