"""The checker: reads a book as a reviewer would, and names what to look at by file, row and column."""

from __future__ import annotations

from collections.abc import Callable

from intake.book.checks.items import item_problems
from intake.book.checks.jobs import job_problems, shop_problems
from intake.book.checks.names import finding_problems, name_problems
from intake.book.checks.outputs import output_problems
from intake.book.checks.plausibility import plausibility_problems
from intake.book.checks.questions import question_problems
from intake.book.checks.tables import table_problems
from intake.book.checks.target_ranges import target_range_problems
from intake.book.checks.texts import text_problems
from intake.book.model import Book
from intake.book.problems import Problem

CHECKS: tuple[Callable[[Book], list[Problem]], ...] = (
    question_problems,
    name_problems,
    table_problems,
    finding_problems,
    output_problems,
    item_problems,
    job_problems,
    shop_problems,
    target_range_problems,
    text_problems,
    plausibility_problems,
)


def check_book(book: Book) -> list[Problem]:
    """Everything a reviewer would ask about; an empty list for a book that is sound."""
    return [problem for check in CHECKS for problem in check(book)]
