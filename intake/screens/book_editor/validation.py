"""What the loader and the checker say of a changed book: what refuses it, and what is only worth a look."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass
from threading import Lock

from intake.book.checks.leaps import leap_problems
from intake.book.checks.names import finding_problems, name_problems
from intake.book.checks.run import CHECKS
from intake.book.checks.texts import text_problems
from intake.book.model import Book
from intake.book.problems import BookError, Problem
from intake.services.current_book import load_files
from intake.store.books import Files, mark_of

JUDGEMENTS = (text_problems, finding_problems)
"""Checks whose findings are a reviewer's advice: a quote can do with them."""
KEPT = 6


@dataclass(frozen=True)
class Verdict:
    """`book` is None where the files make none. `errors` refuse; `remarks` are worth a look."""

    book: Book | None
    errors: tuple[Problem, ...]
    remarks: tuple[Problem, ...]


def validate(files: Files, base: Book) -> Verdict:
    """Load and check. What the checker has against the base too, was there before, and refuses nothing.

    The last verdicts are kept: a form, the page of the effect and the saving ask for the same one.
    """
    key = (mark_of(files), base.digest)
    with _lock:
        known = _recent.get(key)
    if known is None:
        known = _judge(files, base)
        with _lock:
            _recent[key] = known
            while len(_recent) > KEPT:
                _recent.popitem(last=False)
    return known


_recent: OrderedDict[tuple[str, str], Verdict] = OrderedDict()
_against: dict[str, frozenset[tuple[str, str, str]]] = {}
_lock = Lock()


def _judge(files: Files, base: Book) -> Verdict:
    try:
        book = load_files(files)
    except BookError as error:
        return Verdict(None, tuple(error.problems), ())
    found = list(_found(book))
    grave = [problem for problem, refuses in found if refuses]
    if grave:
        grave = [problem for problem in grave if _key(problem) not in _held_against(base)]
    rest = [problem for problem, _ in found if problem not in grave] + leap_problems(base, book)
    return Verdict(book, tuple(grave), tuple(rest))


def _held_against(base: Book) -> frozenset[tuple[str, str, str]]:
    """What the checker has against the book in force, worked out once."""
    with _lock:
        known = _against.get(base.digest)
    if known is None:
        known = frozenset(_key(problem) for problem, _ in _found(base))
        with _lock:
            _against.clear()
            _against[base.digest] = known
    return known


def _found(book: Book) -> Iterator[tuple[Problem, bool]]:
    for check in CHECKS:
        for problem in check(book):
            waits = check is not name_problems and (problem.doubt or _may_wait(problem))
            yield problem, check not in JUDGEMENTS and not waits


def _may_wait(problem: Problem) -> bool:
    """Gaps, what nothing uses yet, and rows that others cover: another row mends them, or nothing must."""
    of_the_whole = problem.row is None and problem.file.endswith(".csv")
    unasked = (problem.file, problem.column) in (("jobs.csv", "id"), ("checklist.toml", "id"))
    return of_the_whole or unasked or (not problem.column and problem.file != "shop.toml")


def _key(problem: Problem) -> tuple[str, str, str]:
    """Rows move; the rest tells a problem."""
    return problem.file, problem.column, problem.sentence
