"""Facts and findings that nothing gives, and findings without a remedy."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator
from typing import Any

from intake.book.checks.tables import tables_of
from intake.book.domains import fact_domains, findings_of, item_domains
from intake.book.model import Book
from intake.book.problems import Problem, unknown
from intake.book.tables import Row, Table
from intake.book.wording import PLACEHOLDER

BY_FRET = "fret_depths"
AFTER_OFFERS = ("worth_share",)
BRACES = re.compile(r"\{[^{}]*\}?|\}")
STOPPING = {"holds", "caution"}


def name_problems(book: Book) -> list[Problem]:
    """Facts that nothing in the book gives, tested or printed."""
    return [*_columns(book), *_placeholders(book)]


def finding_problems(book: Book) -> list[Problem]:
    """Findings that ask for work and get none, and remedies for findings that no table gives."""
    return list(_unanswered(book))


def _columns(book: Book) -> Iterator[Problem]:
    facts = fact_domains(book)
    for table in tables_of(book):
        known = facts | item_domains(book, table)
        for column in table.inputs:
            if column.id not in known:
                yield Problem(table.file, None, column.heading, _strange(column.id, known))


def _placeholders(book: Book) -> Iterator[Problem]:
    facts = fact_domains(book)
    for table in book.tables.values():
        known = facts | item_domains(book, table)
        for row, column, text in texts_of(table):
            for sentence in _faulty(text, table, row, known, book):
                yield Problem(table.file, row.line, column, sentence)


def _faulty(text: str, table: Table, row: Row, known: Collection[str], book: Book) -> Iterator[str]:
    for match in PLACEHOLDER.finditer(text):
        id = match["id"]
        if id not in known and not _at_a_fret(id, book):
            yield _strange(id, known)
        elif match["limit"] and not _tests(table, row, id):
            yield f"{{{id} limit}} prints the bound of a cell, but this row does not test {id}."
    if left := BRACES.search(PLACEHOLDER.sub("", text)):
        yield f"“{left[0]}” would be printed as it stands; write {{relief}} or {{relief limit}}."


def _strange(id: str, known: Collection[str]) -> str:
    """The sentence on a fact that no table can have."""
    if id in AFTER_OFFERS:
        return f"{id} is worked out from the offers, after every table has been looked up."
    return unknown("fact", id, known)


def _at_a_fret(id: str, book: Book) -> bool:
    """`fret_wear.3` is a fact too."""
    name, _, fret = id.partition(".")
    return fret.isdigit() and name in book.questions and book.questions[name].kind == BY_FRET


def _tests(table: Table, row: Row, id: str) -> bool:
    pairs = zip(table.inputs, row.tests, strict=True)
    return any(column.id == id and not tests.is_any for column, tests in pairs)


def texts_of(table: Table) -> Iterator[tuple[Row, str, str]]:
    """Every text that a table can say: row, heading, words."""
    for row in table.rows:
        for name, value in row.outputs.items():
            if isinstance(value, dict):
                for language, words in value.items():
                    yield row, f"then {name}" + ("" if language == "en" else f" [{language}]"), words


def _unanswered(book: Book) -> Iterator[Problem]:
    known = findings_of(book)
    answers = _remedy_for(book)
    for table in book.tables.values():
        for row in table.rows:
            finding, severity = str(row.outputs.get("finding")), row.outputs.get("severity")
            if severity == "work" and not answers(finding):
                sentence = f"“{finding}” asks for work, but no row of remedies.csv answers it."
                yield Problem(table.file, row.line, "then finding", sentence)
            if severity == "stop" and not (answers(finding) or STOPPING & row.outputs.keys()):
                sentence = f"“{finding}” stops nothing: it holds no job, asks for none and has no caution."
                yield Problem(table.file, row.line, "then finding", sentence)
    for row, word in _tested_findings(book.remedies):
        if word not in known:
            yield Problem(book.remedies.file, row.line, "finding", unknown("finding", word, known))


def _tested_findings(remedies: Table) -> Iterator[tuple[Row, str]]:
    for at, column in enumerate(remedies.inputs):
        if column.id == "finding":
            for row in remedies.rows:
                for test in row.tests[at].tests:
                    yield from ((row, end) for end in test.ends() if isinstance(end, str))


def _remedy_for(book: Book) -> Callable[[str], bool]:
    at = next((n for n, column in enumerate(book.remedies.inputs) if column.id == "finding"), None)
    if at is None:
        return lambda finding: bool(book.remedies.rows)
    cells: list[Any] = [row.tests[at] for row in book.remedies.rows]
    return lambda finding: any(cell.holds(finding) for cell in cells)
