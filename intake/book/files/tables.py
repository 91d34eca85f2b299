"""Decision tables from their CSV files, with every fault named by row and column."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path
from typing import Any

from intake.book.files.sheet import Sheet, open_sheet, padded
from intake.book.files.spreadsheet import SpreadsheetError, number_text, plain_tests
from intake.book.problems import BookError, Problem
from intake.book.sfeel import SFeelError, UnaryTests, parse_number, parse_tests
from intake.book.tables import EACHES, POLICIES, Column, Output, Row, Table
from intake.book.text import Text
from intake.trade.units import MeasureError, convert

TEXT_OUTPUTS = ("says", "caution", "why")
_HEADING = re.compile(r"^(?P<then>then\s+)?(?P<name>[^\[\]]+?)\s*(?:\[(?P<bracket>[^\[\]]*)\])?$")

Heading = Column | Output | None


def load_table(path: Path, units: Mapping[str, str] | None = None) -> Table:
    """One table on its own. `units` gives each fact's unit; without it the headings' units hold.

    Raises BookError with everything that is wrong in the file.
    """
    problems: list[Problem] = []
    table = read_table(path, path.name, units or {}, problems)
    if problems or table is None:
        raise BookError(problems)
    return table


def read_table(path: Path, file: str, units: Mapping[str, str], problems: list[Problem]) -> Table | None:
    """The table as far as it can be read; what cannot be is added to the problems."""
    sheet = open_sheet(path, file, problems)
    if sheet is None:
        return None
    return _TableReader(sheet, units, problems).table(path.stem)


def heading_units(path: Path, file: str) -> dict[str, str]:
    """The units of a table's outputs, as its headings have them; problems are left to `read_table`."""
    sheet = open_sheet(path, file, [])
    rows = (
        [] if sheet is None else [cells for _, cells in sheet.rows if any(_is_output(cell) for cell in cells)]
    )
    parsed = (_HEADING.match(cell) for cell in (rows[0] if rows else ()))
    return {
        m["name"]: m["bracket"]
        for m in parsed
        if m and m["then"] and m["bracket"] and m["name"] not in TEXT_OUTPUTS
    }


def _is_output(cell: str) -> bool:
    return cell.startswith("then ")


class _TableReader:
    """Reads one sheet; keeps on after a fault, so that all of them are named."""

    def __init__(self, sheet: Sheet, units: Mapping[str, str], problems: list[Problem]) -> None:
        self.sheet = sheet
        self.units = units
        self.problems = problems
        self.rows = list(sheet.rows)

    def table(self, name: str) -> Table | None:
        policy, each = self._setting("hit policy", POLICIES), self._setting("each", EACHES)
        if not self.rows:
            self._problem(None, "", "The row of headings is missing.")
            return None
        top, cells = self.rows.pop(0)
        headings = tuple(self._heading(top, cell, cells) for cell in cells)
        if not any(isinstance(heading, Output) for heading in headings):
            self._problem(top, "", "No column is an output; its heading starts with “then”.")
            return None
        rows = tuple(self._row(number, cells, headings) for number, cells in self.rows)
        return Table(
            name=name,
            file=self.sheet.file,
            policy=policy or "unique",
            each=each or "",
            inputs=tuple(heading for heading in headings if isinstance(heading, Column)),
            outputs=tuple(heading for heading in headings if isinstance(heading, Output)),
            rows=rows,
        )

    def _setting(self, key: str, allowed: tuple[Any, ...]) -> Any:
        """The value of a line such as `hit policy,first` if it stands next; hit policy must."""
        number, cells = self.rows[0] if self.rows else (None, ("",))
        if cells[0].lower() != key:
            if key == "hit policy":
                self._problem(1, key, "The first row is “hit policy,unique”, or first, or collect.")
            return None
        self.rows.pop(0)
        value = cells[1].lower() if len(cells) > 1 else ""
        if value not in allowed or not value:
            choices = ", ".join(choice for choice in allowed if choice)
            self._problem(number, key, f"“{value}” is not one of {choices}.")
            return None
        return value

    def _heading(self, row: int, cell: str, cells: tuple[str, ...]) -> Heading:
        if not cell or cell == "note":
            return None
        if cells.count(cell) > 1:
            self._problem(row, cell, "This heading stands twice.")
        match = _HEADING.match(cell)
        if not match:
            self._problem(
                row, cell, "A heading is a name, with its unit in square brackets where it has one."
            )
            return None
        name, bracket = match["name"], match["bracket"] or ""
        if match["then"] and name in TEXT_OUTPUTS:
            return Output(name, bracket, "", cell)
        unit = self.units.get(name) or bracket
        if bracket and bracket != unit and not self._convertible(bracket, unit):
            self._problem(row, cell, f"{name} is measured in {unit}; [{bracket}] cannot be converted to it.")
            unit = bracket
        return Output(name, "", unit, cell) if match["then"] else Column(name, unit, cell)

    def _convertible(self, here: str, unit: str) -> bool:
        try:
            convert(Fraction(1), here, unit)
        except (MeasureError, KeyError):
            return False
        return True

    def _row(self, number: int, cells: tuple[str, ...], headings: tuple[Heading, ...]) -> Row:
        if any(cells[len(headings) :]):
            self._problem(
                number, "", "This row has more cells than there are headings; is a text with commas unquoted?"
            )
        tests: list[UnaryTests] = []
        outputs: dict[str, Any] = {}
        note = ""
        for cell, heading in zip(padded(cells, len(headings)), headings, strict=True):
            if isinstance(heading, Column):
                tests.append(self._tests(number, cell, heading))
            elif isinstance(heading, Output):
                self._output(number, cell, heading, outputs)
            else:
                note = cell or note
        self._texts(number, outputs)
        return Row(number, tuple(tests), outputs, note)

    def _tests(self, row: int, cell: str, column: Column) -> UnaryTests:
        try:
            tests = parse_tests(plain_tests(cell, self.sheet.comma))
        except (SFeelError, SpreadsheetError) as error:
            self._problem(row, column.heading, str(error))
            return UnaryTests("-")
        here = _bracket(column.heading)
        if here and here != column.unit:
            return tests.map(lambda number: convert(number, here, column.unit))
        return tests

    def _output(self, row: int, cell: str, output: Output, outputs: dict[str, Any]) -> None:
        if not cell:
            return
        if output.name in TEXT_OUTPUTS:
            outputs.setdefault(output.name, Text())[output.lang or "en"] = cell
            return
        try:
            number = parse_number(number_text(cell, self.sheet.comma))
        except SpreadsheetError as error:
            self._problem(row, output.heading, str(error))
            return
        except SFeelError as error:
            if output.unit:
                self._problem(row, output.heading, str(error))
            outputs[output.name] = _unquoted(cell)
            return
        here = _bracket(output.heading)
        outputs[output.name] = convert(number, here, output.unit) if here != output.unit and here else number

    def _texts(self, row: int, outputs: dict[str, Any]) -> None:
        for name, value in outputs.items():
            if isinstance(value, Text) and "en" not in value:
                self._problem(row, f"then {name}", "There is a translation but no English text.")
                value["en"] = next(iter(value.values()))

    def _problem(self, row: int | None, column: str, sentence: str) -> None:
        self.problems.append(Problem(self.sheet.file, row, column, sentence))


def _bracket(heading: str) -> str:
    match = _HEADING.match(heading)
    return (match["bracket"] or "") if match else ""


def _unquoted(cell: str) -> str:
    return cell[1:-1] if len(cell) > 1 and cell[0] in '"“„' and cell[-1] in '"”“' else cell
