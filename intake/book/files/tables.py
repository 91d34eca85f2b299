"""Decision tables from their CSV files, with every fault named by row and column."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path
from typing import Any, Literal

from intake.book.files.sheet import Sheet, open_sheet, padded
from intake.book.files.spreadsheet import SpreadsheetError, number_text, plain_tests
from intake.book.files.when_cell import WHEN, conditions
from intake.book.problems import BookError, Problem
from intake.book.sfeel import ANY, SFeelError, UnaryTests, parse_number, parse_tests
from intake.book.tables import EACHES, POLICIES, Column, Output, Row, Table
from intake.book.text import Text
from intake.trade.units import SCALE, MeasureError, convert, parse_measure

TEXT_OUTPUTS = ("says", "caution", "why")
_HEADING = re.compile(r"^(?P<then>then\s++)?(?P<name>[^\[\]]*[^\[\]\s])\s*(?:\[(?P<bracket>[^\[\]]*)\])?$")

IN_64THS = "64ths"
Heading = Column | Output | Literal["when"] | None
Tests = dict[str, tuple[Column, UnaryTests]]
Groups = Mapping[str, tuple[str, ...]]
FAMILY = "family"
_WORD = re.compile(r"[\w-]+")


def load_table(path: Path, units: Mapping[str, str] | None = None, groups: Groups | None = None) -> Table:
    """One table on its own. `units` gives each fact's unit; without it the headings' units hold.

    `groups` are groups of families with their members, spelled out where `family` is tested.

    Raises BookError with everything that is wrong in the file.
    """
    problems: list[Problem] = []
    table = read_table(path, path.name, units or {}, groups or {}, problems)
    if problems or table is None:
        raise BookError(problems)
    return table


def read_table(
    path: Path, file: str, units: Mapping[str, str], groups: Groups, problems: list[Problem]
) -> Table | None:
    """The table as far as it can be read; what cannot be is added to the problems."""
    sheet = open_sheet(path, file, problems)
    if sheet is None:
        return None
    return _TableReader(sheet, units, groups, problems).table(path.stem)


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

    def __init__(
        self, sheet: Sheet, units: Mapping[str, str], groups: Groups, problems: list[Problem]
    ) -> None:
        self.sheet = sheet
        self.units = units
        self.groups = groups
        self.problems = problems
        self.rows = list(sheet.rows)
        self.conditions: dict[str, Column] = {}

    def table(self, name: str) -> Table | None:
        policy, each = self._setting("hit policy", POLICIES), self._setting("each", EACHES)
        scope = self._scope()
        if not self.rows:
            self._problem(None, "", "The row of headings is missing.")
            return None
        top, cells = self.rows.pop(0)
        headings = tuple(self._heading(top, cell, cells) for cell in cells)
        if not any(isinstance(heading, Output) for heading in headings):
            self._problem(top, "", "No column is an output; its heading starts with “then”.")
            return None
        read = [self._row(number, cells, headings) for number, cells in self.rows]
        written = [heading for heading in headings if isinstance(heading, Column)]
        apart = (column for column in self.conditions.values() if column not in written)
        columns = (*(column for column, _ in scope.values()), *written, *apart)
        return Table(
            name=name,
            file=self.sheet.file,
            policy=policy or "unique",
            each=each or "",
            inputs=columns,
            outputs=tuple(heading for heading in headings if isinstance(heading, Output)),
            rows=tuple(
                Row(row, _in_columns({**scope, **tests}, columns), outputs, note)
                for row, tests, outputs, note in read
            ),
            scope={column.id: tests for column, tests in scope.values()},
        )

    def _scope(self) -> Tests:
        """The conditions of a line `when,...` over the headings, which hold for every row."""
        if not self.rows or self.rows[0][1][0].lower() != WHEN or any(map(_is_output, self.rows[0][1])):
            return {}
        number, cells = self.rows.pop(0)
        return self._conditions(number, "; ".join(cell for cell in cells[1:] if cell))

    def _conditions(self, row: int, cell: str) -> Tests:
        """What a cell called `when` tests, by the headings that its facts would have."""
        found: Tests = {}
        try:
            pairs = conditions(cell)
        except SFeelError as error:
            self._problem(row, WHEN, str(error))
            return {}
        for name, tests in pairs:
            column = self._column(row, f"{WHEN} {name}", name)
            if column and column.heading in found:
                self._problem(row, WHEN, f"{column.id} stands twice in this condition.")
            elif column:
                found[column.heading] = column, self._tests(row, tests, column)
        return found

    def _column(self, row: int, heading: str, name: str) -> Column | None:
        match = _HEADING.match(name)
        if not match or match["then"]:
            self._problem(row, WHEN, f"“{name}” is not a fact; write it as room_rh [%].")
            return None
        bracket = match["bracket"] or ""
        return Column(match["name"], self._unit(row, heading, match["name"], bracket), heading)

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
        if cell == WHEN:
            return "when"
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
        unit = self._unit(row, cell, name, bracket)
        return Output(name, "", unit, cell) if match["then"] else Column(name, unit, cell)

    def _unit(self, row: int, heading: str, name: str, bracket: str) -> str:
        """The fact's own unit, into which that of the heading can be converted."""
        unit = self.units.get(name) or ("in" if bracket == IN_64THS else bracket)
        if bracket and bracket != unit and not _convertible(bracket, unit):
            self._problem(
                row, heading, f"{name} is measured in {unit}; [{bracket}] cannot be converted to it."
            )
            return bracket
        return unit

    def _row(
        self, number: int, cells: tuple[str, ...], headings: tuple[Heading, ...]
    ) -> tuple[int, Tests, dict[str, Any], str]:
        if any(cells[len(headings) :]):
            self._problem(
                number, "", "This row has more cells than there are headings; is a text with commas unquoted?"
            )
        tests: Tests = {}
        outputs: dict[str, Any] = {}
        note = ""
        for cell, heading in zip(padded(cells, len(headings)), headings, strict=True):
            if isinstance(heading, Column):
                tests[heading.heading] = heading, self._tests(number, cell, heading)
            elif isinstance(heading, Output):
                self._output(number, cell, heading, outputs)
            elif heading == WHEN:
                tests |= self._conditions(number, cell)
            else:
                note = cell or note
        self.conditions |= {heading: column for heading, (column, _) in tests.items()}
        self._texts(number, outputs)
        return number, tests, outputs, note

    def _tests(self, row: int, cell: str, column: Column) -> UnaryTests:
        written = _spelled(cell, self.groups) if column.id == FAMILY else cell
        try:
            tests = parse_tests(plain_tests(written, self.sheet.comma))
        except (SFeelError, SpreadsheetError) as error:
            self._problem(row, column.heading, str(error))
            return UnaryTests("-")
        here = _bracket(column.heading)
        if here and here != column.unit:
            return tests.map(lambda number: _converted(number, here, column.unit))
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
            outputs[output.name] = self._in_words(row, cell, output, error)
            return
        here = _bracket(output.heading)
        outputs[output.name] = _converted(number, here, output.unit) if here else number

    def _in_words(self, row: int, cell: str, output: Output, error: SFeelError) -> Fraction | str:
        """A cell that is no number: a measure with its own unit (`3.3 mm`), or, without units, an id."""
        if output.unit not in SCALE or not output.unit:
            return _unquoted(cell)
        try:
            return parse_measure(cell, output.unit)
        except MeasureError:
            self._problem(row, output.heading, str(error))
            return _unquoted(cell)

    def _texts(self, row: int, outputs: dict[str, Any]) -> None:
        for name, value in outputs.items():
            if isinstance(value, Text) and "en" not in value:
                self._problem(row, f"then {name}", "There is a translation but no English text.")
                value["en"] = next(iter(value.values()))

    def _problem(self, row: int | None, column: str, sentence: str) -> None:
        self.problems.append(Problem(self.sheet.file, row, column, sentence))


def _spelled(cell: str, groups: Groups) -> str:
    """The cell with each group of families as its members."""
    return _WORD.sub(lambda word: ", ".join(groups.get(word[0], (word[0],))), cell)


def _in_columns(tests: Tests, columns: tuple[Column, ...]) -> tuple[UnaryTests, ...]:
    return tuple(tests[column.heading][1] if column.heading in tests else ANY for column in columns)


def _convertible(here: str, unit: str) -> bool:
    try:
        _converted(Fraction(1), here, unit)
    except (MeasureError, KeyError):
        return False
    return True


def _converted(number: Fraction, here: str, unit: str) -> Fraction:
    """From the unit of a heading; [64ths] are of an inch. Raises MeasureError, and KeyError for no unit."""
    if here == unit:
        return number
    return convert(number / 64, "in", unit) if here == IN_64THS else convert(number, here, unit)


def _bracket(heading: str) -> str:
    match = _HEADING.match(heading)
    return (match["bracket"] or "") if match else ""


def _unquoted(cell: str) -> str:
    return cell[1:-1] if len(cell) > 1 and cell[0] in '"“„' and cell[-1] in '"”“' else cell
