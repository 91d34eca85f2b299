"""Decision tables as wholes: gaps, overlaps, rows that never fire. Exact, by interval partition."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from itertools import islice
from typing import Any

from intake.book.domains import conditions_of, fact_domains, item_domains
from intake.book.grid import Conditions, Grid, grid_of
from intake.book.model import Book
from intake.book.partition import Box, Domain, Undecided, cut
from intake.book.problems import Problem
from intake.book.sfeel import Interval, Same, UnaryTests
from intake.book.tables import Column, Row, Table
from intake.book.wording import show_value

Domains = Mapping[str, Domain]
Units = Mapping[str, str]
MOST_OVERLAPS = 12


def tables_of(book: Book) -> tuple[Table, ...]:
    """Every decision table of a book."""
    optional = (table for table in (book.answering, book.waiting) if table)
    return (*book.given, *book.tables.values(), book.remedies, book.factors, book.fitting, *optional)


def table_problems(book: Book) -> list[Problem]:
    """What is wrong inside each table. A missing fact is no gap; `collect` has neither gap nor overlap, but
    targets are to be had for everybody, in whatever rows they stand; their changes are for some."""
    facts, conditions = fact_domains(book), conditions_of(book)
    return [
        problem
        for table in tables_of(book)
        for problem in _once(table, facts | item_domains(book, table), conditions, book)
    ]


def _once(table: Table, domains: Domains, conditions: Conditions, book: Book) -> tuple[Problem, ...]:
    """What was found in a table of that file last, if it and all that it is judged by are still the same:
    whoever changes a book changes little of it at a time."""
    own = {column.id: domains[column.id] for column in table.inputs if column.id in domains}
    judged = (table, own, book.questions, book.units)
    before, found = _last.get(table.file, (None, ()))
    if judged != before:
        covering = table is book.targets or (table.policy != "collect" and table is not book.target_changes)
        found = tuple(_of_table(table, domains, conditions, book.units, covering))
        _last[table.file] = judged, found
    return found


_last: dict[str, tuple[Any, tuple[Problem, ...]]] = {}


def _of_table(
    table: Table, domains: Domains, conditions: Conditions, units: Units, covering: bool
) -> Iterator[Problem]:
    cells = list(_dead_cells(table, domains))
    dead = dict.fromkeys(row.line for row, _ in cells)
    for row, column in cells:
        yield Problem(table.file, row.line, column.heading, _why_dead(row, column, table, domains[column.id]))
    try:
        grid = grid_of(table, domains, conditions)
        yield from _gaps(table, grid, units) if covering else ()
        yield from _of_grid(table, grid, dead, units)
    except Undecided:
        sentence = "This table has more combinations than can be gone through; split it in two."
        yield Problem(table.file, None, "", sentence)


def _dead_cells(table: Table, domains: Domains) -> Iterator[tuple[Row, Column]]:
    """Cells that no value of their fact can satisfy, or that name a choice which does not exist."""
    for at, column in enumerate(table.inputs):
        domain = domains.get(column.id)
        if domain is None:
            continue
        for row in table.rows:
            tests = row.tests[at]
            if not tests.is_any and (_vain(tests, domain) or not _can_hold(tests, domain)):
                yield row, column


def _can_hold(tests: UnaryTests, domain: Domain) -> bool:
    return any(tests.holds(sample) for sample in cut(domain, [tests]))


def _vain(tests: UnaryTests, domain: Domain) -> str:
    """The first of a cell's alternatives that the fact can never meet, as a cell; "" if there is none."""
    for test in tests.tests:
        if not _can_meet(test, domain):
            return _written(test)
    return ""


def _can_meet(test: Interval | Same, domain: Domain) -> bool:
    if isinstance(test, Same) and domain.values is not None:
        return test.value in domain.values
    return _can_hold(UnaryTests("", (test,)), domain)


def _written(test: Interval | Same) -> str:
    if isinstance(test, Same):
        return f"“{test.value}”"
    if test.low is None or test.high is None or test.is_point:
        sign = "" if test.is_point else "<" if test.low is None else ">"
        sign += "=" if sign and (test.low_closed or test.high_closed) else ""
        return f"{sign}{_plain(test.ends()[0])}"
    opening, closing = "[" if test.low_closed else "(", "]" if test.high_closed else ")"
    return f"{opening}{_plain(test.low)}..{_plain(test.high)}{closing}"


def _plain(number: Fraction) -> str:
    return f"{float(number):g}"


def _why_dead(row: Row, column: Column, table: Table, domain: Domain) -> str:
    tests = row.tests[table.inputs.index(column)]
    if not _can_hold(tests, domain) and not any(isinstance(test, Same) for test in tests.tests):
        return f"No value of {column.id} satisfies {tests.text}, so this row never fires."
    return f"{_vain(tests, domain) or tests.text} is not a value of {column.id}."


def _gaps(table: Table, grid: Grid, units: Units) -> Iterator[Problem]:
    for gap in grid.gaps():
        sentence = f"No row covers {_example(grid, gap, units)}."
        yield Problem(table.file, None, _narrowed(table, grid, gap), sentence)


def _of_grid(table: Table, grid: Grid, dead: Mapping[int, None], units: Units) -> Iterator[Problem]:
    if table.policy == "unique":
        yield from _overlaps(table, grid, units)
    never = {table.rows[number].line for number in grid.never_happening()} - dead.keys()
    for line in sorted(never):
        yield Problem(table.file, line, "", "The cells of this row never hold together, so it never fires.")
    if table.policy == "first":
        for number in grid.shadowed():
            line = table.rows[number].line
            yield Problem(table.file, line, "", "The rows above cover this one wholly, so it never fires.")


def _overlaps(table: Table, grid: Grid, units: Units) -> Iterator[Problem]:
    pairs = grid.overlaps()
    for earlier, later, shared in islice(pairs, MOST_OVERLAPS):
        first, second = table.rows[earlier].line, table.rows[later].line
        sentence = f"Rows {first} and {second} both apply to {_example(grid, shared, units)}."
        yield Problem(table.file, second, _narrowed(table, grid, shared), sentence)
    if next(pairs, None):
        yield Problem(table.file, None, "", "Still more rows overlap; mend these first.")


def _narrowed(table: Table, grid: Grid, box: Box) -> str:
    """The heading of the last column that a box narrows: where a row is to be added or made narrower."""
    ids = grid.example(box)
    return next((column.heading for column in reversed(table.inputs) if column.id in ids), "")


def _example(grid: Grid, box: Box, units: Units) -> str:
    """One combination of a box in words: `family ukulele, crown_left 0.029 in`."""
    shown = (
        f"{id} {_in_words(id, value, units)}" for id, value in grid.example(box).items() if value is not None
    )
    return ", ".join(shown) or "any facts at all"


def _in_words(id: str, value: Any, units: Units) -> str:
    if isinstance(value, tuple):
        return " and ".join(_in_words(id, item, units) for item in value)
    if isinstance(value, Fraction) and units.get(id) == "in":
        return f"{float(value):g} in"
    return show_value(id, value, units)
