"""Facts that a table waits for in vain, outputs that nothing uses, units nobody sees, material lists."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from intake.book.checks.tables import tables_of
from intake.book.domains import findings_of
from intake.book.model import Book
from intake.book.problems import Problem
from intake.book.sfeel import SFeelError, parse_number
from intake.book.tables import Row, Table
from intake.book.wording import PLACEHOLDER
from intake.trade import registry

ESTIMATED = ("plain", "wound", "wound_nickel", "nylon")
"""Kinds of string whose unit weight is worked out from the gauge where strings.csv has none."""
TAKEN_BY_QUOTING = ("hours_together", "wish_room")
VISIBLE = ("in", "ft", "mm", "cm", "thou", "F", "C", "%", "deg", "lbf", "N", "h", "min")


def output_problems(book: Book) -> list[Problem]:
    """What tables ask for and do not get, or give and nobody takes; figures of strings and woods."""
    checks: tuple[Callable[[Book], Iterator[Problem]], ...] = (
        _too_early, _uncomputable, _unused, _changes_of_nothing, _untested, _unitless, _materials,
    )  # fmt: skip
    return [problem for check in checks for problem in check(book)]


def _too_early(book: Book) -> Iterator[Problem]:
    """Targets and defaults are looked up before anything is computed or found."""
    late = {
        *registry.REGISTRY,
        *(f"finding.{finding}" for finding in findings_of(book)),
    } - book.questions.keys()
    for table in book.given:
        for column in table.inputs:
            if column.id in late:
                sentence = f"{column.id} is not known yet when this table is looked up."
                yield Problem(table.file, None, column.heading, sentence)


def _giving(book: Book) -> tuple[Table, ...]:
    """The tables looked up first that give a value, and not a change to one."""
    return tuple(table for table in book.given if table is not book.target_changes)


def _changes_of_nothing(book: Book) -> Iterator[Problem]:
    targets = {output.name for output in book.targets.outputs}
    for output in book.target_changes.outputs if book.target_changes else ():
        if output.name not in targets:
            sentence = f"targets.csv has no {output.name} that this could change."
            yield Problem("target_changes.csv", None, output.heading, sentence)


def _known(book: Book) -> set[str]:
    """Every fact that answers, targets, defaults and readings can give in this book."""
    known = {*book.questions, *book.beside}
    known |= {output.name for table in _giving(book) for output in table.outputs}
    for id in registry.in_order():
        if all(name in known for name in registry.REGISTRY[id].inputs):
            known.add(id)
    return known


def _uncomputable(book: Book) -> Iterator[Problem]:
    known = _known(book)
    for table in tables_of(book):
        for column in table.inputs:
            if column.id in registry.REGISTRY and column.id not in known:
                missing = ", ".join(id for id in registry.REGISTRY[column.id].inputs if id not in known)
                sentence = f"{column.id} is never computed: the book has no {missing}."
                yield Problem(table.file, None, column.heading, sentence)


def _unused(book: Book) -> Iterator[Problem]:
    """Targets and defaults that no reading takes and no table tests or prints."""
    used = {*TAKEN_BY_QUOTING}
    used |= {id for spec in registry.REGISTRY.values() for id in (*spec.inputs, *spec.optional)}
    used |= {column.id for table in tables_of(book) for column in table.inputs}
    used |= {name for table in tables_of(book) for row in table.rows for name in _printed(row)}
    for table in book.given:
        for output in table.outputs:
            if output.name not in used:
                sentence = f"Nothing uses {output.name}: no reading takes it, no table tests it."
                yield Problem(table.file, None, output.heading, sentence)


def _printed(row: Row) -> Iterator[str]:
    for value in row.outputs.values():
        if isinstance(value, str):
            yield value
        elif isinstance(value, dict):
            yield from (match["id"] for words in value.values() for match in PLACEHOLDER.finditer(words))


def _untested(book: Book) -> Iterator[Problem]:
    """Columns of dashes."""
    for table in tables_of(book):
        for at, column in enumerate(table.inputs):
            if table.rows and all(row.tests[at].is_any for row in table.rows):
                yield Problem(table.file, None, column.heading, "No row tests this column: take it out.")


def _unitless(book: Book) -> Iterator[Problem]:
    """A measured fact without its unit in the heading is read in a unit that nobody sees."""
    for table in tables_of(book):
        for column in table.inputs:
            if column.unit and "[" not in column.heading and column.unit in VISIBLE:
                sentence = f"{column.id} is measured in {column.unit}; write {column.id} [{column.unit}]."
                yield Problem(table.file, None, column.heading, sentence)


def _materials(book: Book) -> Iterator[Problem]:
    lists = (
        ("strings.csv", book.strings, ("gauge", "unit_weight")),
        ("woods.csv", book.woods, ("radial", "tangential", "density")),
    )
    for file, records, columns in lists:
        for at, record in enumerate(records):
            for column in columns:
                estimated = column == "unit_weight" and record.get("kind") in ESTIMATED
                if not (_positive(record.get(column, "")) or (estimated and not record[column])):
                    sentence = f"“{record.get(column, '')}” is not a number above 0."
                    yield Problem(file, book.places.get((file, str(at))), column, sentence)


def _positive(text: str) -> bool:
    try:
        return (float(text) if "e" in text.lower() else parse_number(text)) > 0
    except (ValueError, SFeelError):
        return False
