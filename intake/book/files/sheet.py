"""CSV as spreadsheets write it: rows keep the number that a spreadsheet shows."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from intake.book.files.spreadsheet import decode, separator, twice_encoded
from intake.book.problems import Problem
from intake.book.text import Text

_LANGUAGE = re.compile(r"^(?P<name>.*\S)\s*\[(?P<language>[a-z]{2}(?:-[A-Z]{2})?)\]$")


@dataclass(frozen=True)
class Sheet:
    """A file's rows that hold anything, each with its number; cells are stripped.

    `comma`: its numbers may have a decimal comma, since something else stands between the cells.
    """

    file: str
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    comma: bool = False

    def heading_of(self, column: int) -> str:
        """What stands above a cell, else the column's letter."""
        tops = [cells for _, cells in self.rows if any(cell.startswith("then ") for cell in cells)]
        top = (tops or [cells for _, cells in self.rows])[0]
        return (column < len(top) and top[column]) or _letters(column)


@dataclass(frozen=True)
class Record:
    """One row under headings; a cell that is not there reads as empty."""

    file: str
    row: int
    cells: dict[str, str]
    comma: bool = False

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
    """Read a CSV with commas, semicolons or tabs, as UTF-8 or UTF-16.

    Raises UnicodeDecodeError if the file is neither, csv.Error if its quotes do not match.
    """
    whole = decode(path.read_bytes())
    delimiter, text = separator(whole)
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    first = 1 if text is whole else 2
    kept = ((number, tuple(cell.strip() for cell in cells)) for number, cells in enumerate(rows, first))
    return Sheet(file, tuple((number, cells) for number, cells in kept if any(cells)), delimiter != ",")


def _letters(column: int) -> str:
    """A, B … Z, AA: how a spreadsheet names a column that is counted from 0."""
    before, at = divmod(column, 26)
    return (_letters(before - 1) if before else "") + chr(ord("A") + at)


def open_sheet(path: Path, file: str, problems: list[Problem]) -> Sheet | None:
    """`read_sheet`, with what stands in the way added to the problems."""
    try:
        sheet = read_sheet(path, file)
        problems.extend(_spoilt(sheet))
        return sheet
    except FileNotFoundError:
        problems.append(Problem(file, None, "", "This file is missing."))
    except UnicodeDecodeError as error:
        problems.append(_not_utf8(error, file))
    except csv.Error as error:
        problems.append(Problem(file, None, "", f"This is not CSV that can be read: {error}."))
    return None


def _not_utf8(error: UnicodeDecodeError, file: str) -> Problem:
    """The row of the first letter that cannot be read; the cell, if the file has lines to count in."""
    before = error.object[: error.start]
    if b"\0" in error.object:
        return Problem(file, None, "", "This is not text that can be read; save it as “CSV UTF-8”.")
    row = len(before.splitlines()) + before.endswith((b"\n", b"\r")) or 1
    line = before.splitlines()[-1] if before and not before.endswith((b"\n", b"\r")) else b""
    delimiter, _ = separator(error.object.decode("ascii", "replace"))
    column = len(next(csv.reader([line.decode("ascii", "replace") + "x"], delimiter=delimiter))) - 1
    sentence = "This is not UTF-8 text: it was saved in an older encoding; save it as “CSV UTF-8”."
    return Problem(file, row, _letters(column), sentence)


def _spoilt(sheet: Sheet) -> Iterator[Problem]:
    """Cells with letters that were lost, and rows that landed in one cell."""
    width = max((len(cells) for _, cells in sheet.rows), default=0)
    for number, cells in sheet.rows:
        if len(cells) == 1 < width and cells[0].count(",") >= 2 and sheet.comma:
            sentence = "The whole row stands in one cell: open the file with the comma between columns."
            yield Problem(sheet.file, number, "A", sentence)
        for at, cell in enumerate(cells):
            if before := twice_encoded(cell):
                sentence = (
                    f"“{cell}” was read in the wrong encoding, it was “{before}”: open the file as UTF-8, "
                    "and save it as “CSV UTF-8”."
                )
                yield Problem(sheet.file, number, sheet.heading_of(at), sentence)
            elif "\ufffd" in cell:
                sentence = (
                    f"In “{cell}” a letter was lost (�); type it anew, and save the file as “CSV UTF-8”."
                )
                yield Problem(sheet.file, number, sheet.heading_of(at), sentence)


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
        yield Record(
            file, number, dict(zip(headings, padded(cells, len(headings)), strict=True)), sheet.comma
        )


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
