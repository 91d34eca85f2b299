"""CSV as spreadsheets write it: rows keep the number that a spreadsheet shows."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from intake.book.model import Text
from intake.book.problems import Problem

_LANGUAGE = re.compile(r"^(?P<name>.+?)\s*\[(?P<language>[a-z]{2}(?:-[A-Z]{2})?)\]$")


@dataclass(frozen=True)
class Sheet:
    """A file's rows that hold anything, each with its number; cells are stripped."""

    file: str
    rows: tuple[tuple[int, tuple[str, ...]], ...]


@dataclass(frozen=True)
class Record:
    """One row under headings; a cell that is not there reads as empty."""

    file: str
    row: int
    cells: dict[str, str]

    def get(self, column: str) -> str:
        return self.cells.get(column, "")

    def words(self, column: str) -> tuple[str, ...]:
        """A cell that lists ids, separated by spaces."""
        return tuple(self.get(column).split())

    def text(self, column: str) -> Text | None:
        """The column in every language it stands in; None if it is empty."""
        return text_from(self.cells, column)

    def problem(self, column: str, sentence: str) -> Problem:
        return Problem(self.file, self.row, column, sentence)


def text_from(mapping: dict[str, str], key: str) -> Text | None:
    """`key` and `key [fr]` … of a row or a TOML table as one Text; None without the English words."""
    words = {"en": str(mapping.get(key, "")).strip()}
    for heading, value in mapping.items():
        match = _LANGUAGE.match(heading)
        if match and match["name"] == key and str(value).strip():
            words[match["language"]] = str(value).strip()
    return Text(words) if words["en"] else None


def read_sheet(path: Path, file: str) -> Sheet:
    """Read a CSV with commas, semicolons or tabs, with or without a byte-order mark.

    Raises UnicodeDecodeError if the file is not UTF-8, csv.Error if its quotes do not match.
    """
    text = path.read_bytes().decode("utf-8-sig")
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    kept = ((number, tuple(cell.strip() for cell in cells)) for number, cells in enumerate(rows, 1))
    return Sheet(file, tuple((number, cells) for number, cells in kept if any(cells)))


def _delimiter(text: str) -> str:
    first = next((line for line in text.splitlines() if line.strip()), "")
    return max(",;\t", key=first.count)


def open_sheet(path: Path, file: str, problems: list[Problem]) -> Sheet | None:
    """`read_sheet`, with what stands in the way added to the problems."""
    try:
        return read_sheet(path, file)
    except FileNotFoundError:
        problems.append(Problem(file, None, "", "This file is missing."))
    except UnicodeDecodeError:
        problems.append(Problem(file, None, "", "This is not UTF-8 text; save it as “CSV UTF-8”."))
    except csv.Error as error:
        problems.append(Problem(file, None, "", f"This is not CSV that can be read: {error}."))
    return None


def padded(cells: tuple[str, ...], width: int) -> tuple[str, ...]:
    return cells[:width] + ("",) * (width - len(cells))


def records(
    path: Path, file: str, needed: tuple[str, ...], known: tuple[str, ...], problems: list[Problem]
) -> Iterator[Record]:
    """The rows of a list such as jobs.csv. `needed` headings must stand; others must be `known`."""
    sheet = open_sheet(path, file, problems)
    if sheet is None:
        return
    if not sheet.rows:
        problems.append(Problem(file, None, "", "This file is empty; its first row holds the headings."))
        return
    (top, headings), *rows = sheet.rows
    problems.extend(_heading_problems(file, top, headings, needed, known))
    for number, cells in rows:
        if any(cells[len(headings) :]):
            problems.append(Problem(file, number, "", "This row has more cells than there are headings."))
        yield Record(file, number, dict(zip(headings, padded(cells, len(headings)), strict=True)))


def _heading_problems(
    file: str, row: int, headings: tuple[str, ...], needed: tuple[str, ...], known: tuple[str, ...]
) -> Iterator[Problem]:
    for column in needed:
        if column not in headings:
            yield Problem(file, row, column, f"The column “{column}” is missing.")
    for column in headings:
        match = _LANGUAGE.match(column)
        if column and (match["name"] if match else column) not in (*needed, *known):
            yield Problem(file, row, column, f"“{column}” is not a column of this file.")
        if column and headings.count(column) > 1:
            yield Problem(file, row, column, f"The column “{column}” stands twice.")
