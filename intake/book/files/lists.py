"""jobs.csv, operations.csv, parts.csv and the plain lists of a book."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar

from intake.book.files.sheet import Record, records
from intake.book.files.spreadsheet import SpreadsheetError, number_text
from intake.book.files.toml import sane
from intake.book.model import Hours, Job, Operation, Part
from intake.book.problems import Problem, unknown
from intake.book.sfeel import SFeelError, parse_number
from intake.book.text import Text
from intake.book.waits import WAIT_KINDS, parse_wait

T = TypeVar("T")
Places = dict[tuple[str, str], int]

JOB_NEEDED = ("id", "group", "name", "quick", "usual", "slow", "price", "stage")
ORDER = ("after", "needs", "needs if found", "includes", "forecast after")
JOB_KNOWN = (
    "parts", *ORDER, "operations", "wait", "wait kind", "splits", "skill", "per", "caution", "note",
)  # fmt: skip
OPERATION_NEEDED = ("id", "name", "quick", "usual", "slow")
PART_NEEDED = ("id", "name", "cost", "price", "unit", "taxed")
PLAIN_NUMBERS = {
    "string_count", "gauge", "unit_weight", "radial", "tangential", "density", "string_tension",
}  # fmt: skip
_WHOLE = re.compile(r"-?[0-9]{1,9}")


def read_jobs(path: Path, order: Path, problems: list[Problem], places: Places) -> dict[str, Job]:
    """jobs.csv, by id, in the order of order.csv where there is one (else its columns stand in jobs.csv).

    In `after`, a group stands for its jobs, and a number for those of that stage.
    """
    known = tuple(column for column in JOB_KNOWN if column not in ORDER) if order.is_file() else JOB_KNOWN
    jobs = _by_id(records(path, path.name, JOB_NEEDED, known, problems), _job, problems, places)
    if order.is_file():
        rows = records(order, order.name, ("id",), (*ORDER, "note"), problems)
        for id, lists in _by_id(rows, _order, problems, places).items():
            if id in jobs:
                jobs[id] = replace(jobs[id], **lists)
            else:
                problems.append(Problem(order.name, places[order.name, id], "id", unknown("job", id, jobs)))
    return {job.id: replace(job, after=_spelled(job, jobs)) for job in jobs.values()}


def _order(cells: _Cells) -> dict[str, Any]:
    return {column.replace(" ", "_"): cells.words(column) for column in ORDER}


def _spelled(job: Job, jobs: Mapping[str, Job]) -> tuple[str, ...]:
    """The ids that the cell `after` stands for; a group or a stage means its other jobs."""
    ids: dict[str, None] = {}
    for word in job.after:
        of_word = [other.id for other in jobs.values() if word in (other.group, str(other.stage))]
        ids |= dict.fromkeys([word] if word in jobs or not of_word else of_word)
    return tuple(id for id in ids if id != job.id or id in job.after)


def read_operations(path: Path, problems: list[Problem], places: Places) -> dict[str, Operation]:
    """operations.csv, by id."""
    return _by_id(
        records(path, path.name, OPERATION_NEEDED, ("note",), problems), _operation, problems, places
    )


def read_parts(path: Path, problems: list[Problem], places: Places) -> dict[str, Part]:
    """parts.csv, by id."""
    return _by_id(records(path, path.name, PART_NEEDED, ("note",), problems), _part, problems, places)


def read_plain(
    path: Path, needed: tuple[str, ...], problems: list[Problem], places: Places
) -> tuple[Mapping[str, str], ...]:
    """strings.csv or woods.csv, row by row as written; sets of several sizes name their `string_count`.

    Their places are kept by number, counted from 0.
    """
    found = list(records(path, path.name, needed, ("string_count", "note"), problems))
    places.update({(path.name, str(number)): record.row for number, record in enumerate(found)})
    return tuple(_plain(record, problems) for record in found)


def _plain(record: Record, problems: list[Problem]) -> Mapping[str, str]:
    """The cells, numbers written with a point."""
    cells = dict(record.cells)
    for column in PLAIN_NUMBERS & cells.keys():
        try:
            cells[column] = number_text(cells[column], record.comma)
        except SpreadsheetError as error:
            problems.append(record.problem(column, str(error)))
    return cells


def _by_id(
    rows: Iterable[Record], read: Callable[[_Cells], T], problems: list[Problem], places: Places
) -> dict[str, T]:
    found: dict[str, T] = {}
    for record in rows:
        cells = _Cells(record, problems)
        id = cells.needed("id")
        if id in found:
            cells.wrong("id", f"“{id}” stands twice; the first is in row {places[record.file, id]}.")
            continue
        places[record.file, id] = record.row
        found[id] = read(cells)
    return found


class _Cells:
    """One record's cells as values; a faulty cell is reported and reads as an empty value."""

    def __init__(self, record: Record, problems: list[Problem]) -> None:
        self.record = record
        self.problems = problems

    def wrong(self, column: str, sentence: str) -> None:
        self.problems.append(self.record.problem(column, sentence))

    def get(self, column: str) -> str:
        return self.record.get(column)

    def words(self, column: str) -> tuple[str, ...]:
        return self.record.words(column)

    def needed(self, column: str) -> str:
        if not self.get(column):
            self.wrong(column, f"The {column} is missing.")
        return self.get(column)

    def number(self, column: str) -> Fraction:
        try:
            return parse_number(number_text(self.needed(column) or "0", self.record.comma))
        except (SFeelError, SpreadsheetError) as error:
            self.wrong(column, str(error))
            return Fraction(0)

    def whole(self, column: str, default: int) -> int:
        text = self.get(column)
        if text and not _WHOLE.fullmatch(text):
            self.wrong(column, f"“{text}” is not a whole number.")
            return default
        return int(text) if text else default

    def money(self, column: str) -> Decimal:
        try:
            amount = Decimal(number_text(self.needed(column) or "0", self.record.comma))
        except SpreadsheetError as error:
            self.wrong(column, str(error))
            return Decimal(0)
        except InvalidOperation:
            self.wrong(column, f"“{self.get(column)}” is not an amount; write it as 12.50.")
            return Decimal(0)
        if not sane(amount):
            self.wrong(column, f"“{self.get(column)}” is not an amount; write it as 12.50.")
            return Decimal(0)
        return amount

    def yes(self, column: str, default: bool) -> bool:
        text = self.get(column).lower()
        if text not in ("", "yes", "no", "true", "false"):
            self.wrong(column, f"“{text}” is neither yes nor no.")
        return text in ("yes", "true") if text else default

    def name(self, column: str) -> Text:
        text = self.record.text(column)
        if text is None:
            self.wrong(column, f"The {column} is missing.")
        return text or Text(en="")

    def hours(self) -> Hours:
        return Hours(self.number("quick"), self.number("usual"), self.number("slow"))

    def wait(self) -> timedelta:
        try:
            return parse_wait(self.get("wait"))
        except ValueError as error:
            self.wrong("wait", str(error))
            return timedelta()

    def counted(self, column: str) -> tuple[tuple[str, Fraction], ...]:
        """`id` or `id*2`, separated by spaces."""
        pairs = []
        for word in self.words(column):
            id, _, count = word.partition("*")
            try:
                number = parse_number(count or "1")
            except SFeelError:
                self.wrong(column, f"“{word}” is not a part; write id or id*2.")
                continue
            if number <= 0:
                self.wrong(column, f"“{word}”: a quantity is above 0.")
            pairs.append((id, number))
        return tuple(pairs)


def _job(cells: _Cells) -> Job:
    wait_kind = cells.get("wait kind")
    if wait_kind and wait_kind not in WAIT_KINDS:
        cells.wrong("wait kind", f"“{wait_kind}” is not one of {', '.join(WAIT_KINDS)}.")
    cells.needed("stage")
    return Job(
        id=cells.get("id"),
        group=cells.needed("group"),
        name=cells.name("name"),
        hours=cells.hours(),
        price=cells.money("price") if cells.get("price") else None,
        stage=cells.whole("stage", 0),
        per=cells.record.text("per") or Text(en=""),
        after=cells.words("after"),
        needs=cells.words("needs"),
        needs_if_found=cells.words("needs if found"),
        includes=cells.words("includes"),
        forecast_after=cells.words("forecast after"),
        operations=cells.words("operations"),
        parts=cells.counted("parts"),
        wait=cells.wait(),
        wait_kind=wait_kind,
        splits=cells.yes("splits", True),
        skill=cells.whole("skill", 1),
        caution=cells.record.text("caution"),
    )


def _operation(cells: _Cells) -> Operation:
    return Operation(cells.get("id"), cells.name("name"), cells.hours())


def _part(cells: _Cells) -> Part:
    return Part(
        id=cells.get("id"),
        name=cells.name("name"),
        cost=cells.money("cost"),
        price=cells.money("price") if cells.get("price") else None,
        unit=cells.get("unit"),
        taxed=cells.yes("taxed", True),
    )
