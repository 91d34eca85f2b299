"""What runs over pins and findings: tables that never run, fields that an item lacks, what is counted."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction

from intake.book.model import Book
from intake.book.problems import Problem
from intake.book.tables import Row
from intake.book.wording import PIN_FIELDS


def item_problems(book: Book) -> list[Problem]:
    """Rules that wait for what their item never has, and quantities of jobs that are not counted."""
    checks: tuple[Callable[[Book], Iterator[Problem]], ...] = (
        _never_run, _nameless, _without_pins, _uncounted,
    )  # fmt: skip
    return [problem for check in checks for problem in check(book)]


def _never_run(book: Book) -> Iterator[Problem]:
    """Findings are looked for before there are jobs to go through."""
    for table in book.tables.values():
        if table.each == "jobs":
            sentence = (
                f"A table of findings runs once, or for each of pins or findings; “{table.each}” come later."
            )
            yield Problem(table.file, None, "each", sentence)


def _nameless(book: Book) -> Iterator[Problem]:
    """A table over findings runs after those that its rows name, and only after those."""
    for table in book.tables.values():
        if table.each != "findings":
            continue
        for row in table.rows:
            cells = (
                cell for column, cell in zip(table.inputs, row.tests, strict=True) if column.id == "finding"
            )
            if not any(cell.words for cell in cells):
                sentence = "This row lists no finding by its id, so nothing says after which tables it comes."
                yield Problem(table.file, row.line, "finding", sentence)


def _without_pins(book: Book) -> Iterator[Problem]:
    """A finding that no table of pins gives has no pin whose fields a remedy could read."""
    fields = [field for field in PIN_FIELDS if field not in book.questions]
    at_pins = {
        id for table in book.tables.values() if table.each == "pins" for id in table.values_of("finding")
    }
    elsewhere = {
        id for table in book.tables.values() if table.each != "pins" for id in table.values_of("finding")
    }
    for row in book.remedies.rows:
        if _answered(book, row, at_pins) or not _answered(book, row, elsewhere):
            continue
        for column, tests in zip(book.remedies.inputs, row.tests, strict=True):
            if column.id in fields and not tests.is_any:
                sentence = (
                    f"None of these findings is at a pin, so there is no {column.id} and the row never fires."
                )
                yield Problem(book.remedies.file, row.line, column.heading, sentence)
        if row.outputs.get("quantity") in fields:
            sentence = (
                f"None of these findings is at a pin, so there is no {row.outputs['quantity']} to count."
            )
            yield Problem(book.remedies.file, row.line, "then quantity", sentence)


def _answered(book: Book, row: Row, findings: set[str]) -> set[str]:
    """Those of the findings that a row of remedies answers."""
    for column, cell in zip(book.remedies.inputs, row.tests, strict=True):
        if column.id == "finding" and cell.words:
            findings = findings.intersection(cell.words)
        elif column.id == "finding" and not cell.is_any:
            findings = {finding for finding in findings if cell.holds(finding)}
    return findings


def _uncounted(book: Book) -> Iterator[Problem]:
    for row in book.remedies.rows:
        job = book.jobs.get(str(row.outputs.get("job")))
        quantity = row.outputs.get("quantity", Fraction(1))
        if job and not job.per.get("en") and quantity != 1:
            sentence = f"This counts {job.id} by {quantity}, but jobs.csv does not say per what it is."
            yield Problem(book.remedies.file, row.line, "then quantity", sentence)
