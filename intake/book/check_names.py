"""Names that lead nowhere, and findings without a remedy or a sentence."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from difflib import get_close_matches
from typing import Any

from intake.book.check_tables import tables_of
from intake.book.domains import fact_domains, findings_of, item_domains
from intake.book.model import SEVERITIES, TIERS, Book
from intake.book.problems import Problem
from intake.book.tables import Row, Table
from intake.book.wording import PLACEHOLDER

NEEDS_REMEDY = ("work",)
OF_JOBS = ("after", "needs", "needs_if_found", "includes", "forecast_after")


def name_problems(book: Book) -> list[Problem]:
    """Ids that nothing in the book bears."""
    return [*_columns(book), *_outputs(book), *_of_jobs(book), *_placeholders(book)]


def finding_problems(book: Book) -> list[Problem]:
    """Findings that nobody answers or explains, and remedies for findings that no table gives."""
    return [*_silent(book), *_unanswered(book)]


def _unknown(kind: str, id: str, known: Collection[str]) -> str:
    near = get_close_matches(id, known, 1)
    return f"“{id}” is not a {kind} of this book" + (f"; is “{near[0]}” meant?" if near else ".")


def _columns(book: Book) -> Iterator[Problem]:
    facts = fact_domains(book)
    for table in tables_of(book):
        known = facts | item_domains(book, table)
        for column in table.inputs:
            if column.id not in known:
                yield Problem(table.file, None, column.heading, _unknown("fact", column.id, known))


def _outputs(book: Book) -> Iterator[Problem]:
    groups = {job.group for job in book.jobs.values()}
    held = {*book.jobs, *groups, "all"}
    wanted: tuple[tuple[Table, str, str, Collection[str]], ...] = (
        *((table, "severity", "severity", SEVERITIES) for table in book.tables.values()),
        *((table, "holds", "job or group", held) for table in book.tables.values()),
        (book.remedies, "job", "job", book.jobs),
        (book.remedies, "instead of", "job", book.jobs),
        (book.remedies, "tier", "tier", TIERS),
        (book.fitting, "part", "part", book.parts),
    )
    for table, output, kind, known in wanted:
        for row, id in _words(table, output):
            if id not in known:
                yield Problem(table.file, row.line, f"then {output}", _unknown(kind, id, known))
    yield from _quantities(book)


def _words(table: Table, output: str) -> Iterator[tuple[Row, str]]:
    for row in table.rows:
        for id in str(row.outputs.get(output, "")).split():
            yield row, id


def _quantities(book: Book) -> Iterator[Problem]:
    known = fact_domains(book) | item_domains(book, book.remedies)
    for row in book.remedies.rows:
        quantity = row.outputs.get("quantity")
        if isinstance(quantity, str) and quantity not in known:
            sentence = _unknown("fact", quantity, known)
            yield Problem(book.remedies.file, row.line, "then quantity", sentence)


def _of_jobs(book: Book) -> Iterator[Problem]:
    for job in book.jobs.values():
        lists: list[tuple[str, str, Collection[str], Collection[str]]] = [
            (name.replace("_", " "), "job", getattr(job, name), book.jobs) for name in OF_JOBS
        ]
        lists.append(("operations", "shared operation", job.operations, book.operations))
        lists.append(("parts", "part", [id for id, _ in job.parts], book.parts))
        for column, kind, ids, known in lists:
            for id in ids:
                if id not in known:
                    row = book.places.get(("jobs.csv", job.id))
                    yield Problem("jobs.csv", row, column, _unknown(kind, id, known))


def _placeholders(book: Book) -> Iterator[Problem]:
    facts = fact_domains(book)
    for table in book.tables.values():
        known = facts | item_domains(book, table)
        for row, column, text in texts_of(table):
            for match in PLACEHOLDER.finditer(text):
                id = match["id"]
                if id not in known and id.split(".")[0] not in book.questions:
                    yield Problem(table.file, row.line, column, _unknown("fact", id, known))
                elif match["limit"] and not _tests(table, row, id):
                    sentence = f"{{{id} limit}} prints the bound of a cell, but this row does not test {id}."
                    yield Problem(table.file, row.line, column, sentence)


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


def _silent(book: Book) -> Iterator[Problem]:
    for table in book.tables.values():
        for row in table.rows:
            if row.outputs.get("finding") and not str(row.outputs.get("says") or "").strip():
                yield Problem(table.file, row.line, "then says", "This finding has no sentence.")


def _unanswered(book: Book) -> Iterator[Problem]:
    known = findings_of(book)
    answers = _remedy_for(book)
    for table in book.tables.values():
        for row in table.rows:
            finding, severity = row.outputs.get("finding"), row.outputs.get("severity")
            if finding and severity in NEEDS_REMEDY and not answers(str(finding)):
                sentence = f"“{finding}” asks for work, but no row of remedies.csv answers it."
                yield Problem(table.file, row.line, "then finding", sentence)
    for row, word in _tested_findings(book.remedies):
        if word not in known:
            yield Problem(book.remedies.file, row.line, "finding", _unknown("finding", word, known))


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
