"""What would keep a quote from being computed: names that lead nowhere, rules that say nothing, circles.

`load_book` refuses a book for these; what merely looks wrong is left to `check_book`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from fractions import Fraction
from graphlib import CycleError, TopologicalSorter

from intake.book.domains import fact_domains, item_domains
from intake.book.files.lists import ORDER
from intake.book.model import SEVERITIES, TIERS, Book
from intake.book.problems import Problem, unknown
from intake.book.tables import Row, Table
from intake.book.waits import parse_wait

OF_JOBS = ("after", "needs", "needs_if_found", "includes", "forecast_after")
WAITS = ("worsens", "holds", "dangerous")
IN_CIRCLES = ("after", "needs", "includes")


def soundness_problems(book: Book) -> list[Problem]:
    """Everything that makes the book unusable although each file can be read."""
    checks: tuple[Callable[[Book], Iterator[Problem]], ...] = (
        _incomplete, _named, _of_jobs, _quantities, _factors, _circles,
    )  # fmt: skip
    return [problem for check in checks for problem in check(book)]


def order_place(book: Book, job: str, column: str) -> tuple[str, int | None]:
    """The file and row in which a job's column of ids stands."""
    apart = column in ORDER and any(file == "order.csv" for file, _ in book.places)
    file = "order.csv" if apart else "jobs.csv"
    return file, book.places.get((file, job))


def _at(table: Table, row: Row, output: str, sentence: str) -> Problem:
    return Problem(table.file, row.line, f"then {output}", sentence)


def _incomplete(book: Book) -> Iterator[Problem]:
    """Rules without the output that makes them one."""
    needed: list[tuple[Table, tuple[str, ...]]] = [
        *((table, ("finding", "severity")) for table in book.tables.values()),
        (book.remedies, ("job", "tier")),
        (book.fitting, ("part",)),
        *(
            (table, outputs)
            for table, outputs in ((book.answering, ("complaint",)), (book.waiting, ("waits", "says")))
            if table
        ),
    ]
    for table, outputs in needed:
        for row in table.rows:
            for output in outputs:
                if output not in row.outputs:
                    yield _at(table, row, output, f"This rule gives no {output}.")
    for table in book.tables.values():
        for row in table.rows:
            if "says" not in row.outputs:
                yield _at(table, row, "says", "This finding has no sentence.")


def _optional(book: Book) -> Iterator[tuple[Table, str, str, Collection[str]]]:
    """What the tables that a book may do without must name."""
    if book.answering:
        asked = book.questions.get("complaints")
        yield book.answering, "complaint", "complaint", [one.id for one in asked.values] if asked else []
    if book.waiting:
        yield book.waiting, "waits", "way to wait", WAITS


def _named(book: Book) -> Iterator[Problem]:
    held = {*book.jobs, *(job.group for job in book.jobs.values()), "all"}
    wanted: tuple[tuple[Table, str, str, Collection[str]], ...] = (
        *((table, "severity", "severity", SEVERITIES) for table in book.tables.values()),
        *((table, "holds", "job or group", held) for table in book.tables.values()),
        *((table, "may follow", "job", book.jobs) for table in book.tables.values()),
        *((table, "told", "answer", ("yes",)) for table in book.tables.values()),
        *_optional(book),
        (book.remedies, "job", "job", book.jobs),
        (book.remedies, "instead of", "job", book.jobs),
        (book.remedies, "tier", "tier", TIERS),
        (book.fitting, "part", "part", book.parts),
    )
    for table, output, kind, known in wanted:
        for row in table.rows:
            for id in str(row.outputs.get(output, "")).split():
                if id not in known:
                    yield _at(table, row, output, unknown(kind, id, known))


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
                    yield Problem(*order_place(book, job.id, column), column, unknown(kind, id, known))


def _quantities(book: Book) -> Iterator[Problem]:
    """A remedy counts by a number or a fact, a fitting by a number."""
    facts = fact_domains(book) | item_domains(book, book.remedies)
    for table, known in ((book.remedies, facts), (book.fitting, {})):
        for row in table.rows:
            quantity = row.outputs.get("quantity")
            if isinstance(quantity, Fraction) and quantity <= 0:
                yield _at(table, row, "quantity", f"{quantity} is not a quantity; it must be above 0.")
            elif isinstance(quantity, str) and quantity not in known:
                kind = "fact" if known else "number"
                yield _at(table, row, "quantity", unknown(kind, quantity, known))


def _factors(book: Book) -> Iterator[Problem]:
    for row in book.factors.rows:
        wait = row.outputs.get("wait")
        if not row.outputs.keys() & {"factor", "hours", "wait"}:
            yield _at(book.factors, row, "factor", "This rule gives neither a factor nor a wait.")
        for output in ("factor", "hours", "against"):
            number = row.outputs.get(output, Fraction(1))
            if not (isinstance(number, Fraction) and number > 0):
                yield _at(book.factors, row, output, f"“{number}” is not a number above 0.")
        if ("hours" in row.outputs) != ("against" in row.outputs):
            sentence = "Hours stand beside the hours that they are against, as 2.2 against 1.5."
            yield _at(book.factors, row, "hours", sentence)
        if wait is not None:
            try:
                parse_wait(str(wait))
            except ValueError as error:
                yield _at(book.factors, row, "wait", str(error))


def _circles(book: Book) -> Iterator[Problem]:
    for field in IN_CIRCLES:
        sorter: TopologicalSorter[str] = TopologicalSorter()
        for job in book.jobs.values():
            sorter.add(job.id, *getattr(job, field))
        try:
            sorter.prepare()
        except CycleError as error:
            circle = error.args[1]
            sentence = f"These jobs stand in a circle: {' → '.join(circle)}."
            yield Problem(*order_place(book, circle[0], field), field, sentence)
