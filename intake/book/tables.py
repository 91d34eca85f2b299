"""Decision tables: rows of unary tests, evaluated exactly and quickly.

Rows stand as bits of an integer. Each column knows its different tests and the rows that hold them, so
that a test is tried once a table however many rows share it, and never for rows already out. A word finds
the rows that list it without any test.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal

from intake.book.sfeel import UnaryTests
from intake.book.text import Text

HitPolicy = Literal["unique", "first", "collect"]
POLICIES: tuple[HitPolicy, ...] = ("unique", "first", "collect")
Each = Literal["", "pins", "findings", "jobs", "buzz_places"]
EACHES: tuple[Each, ...] = ("", "pins", "findings", "jobs", "buzz_places")
Groups = tuple[tuple[UnaryTests, int], ...]


class TableError(ValueError):
    """A table that cannot answer: several rows apply although its hit policy is `unique`."""


@dataclass(frozen=True)
class Column:
    """An input. `unit` is the fact's own unit, in which the tests stand; `heading` is as written."""

    id: str
    unit: str
    heading: str


@dataclass(frozen=True)
class Output:
    """An output; `lang` is "" unless the heading names a language, `unit` that of the values."""

    name: str
    lang: str
    unit: str
    heading: str


@dataclass(frozen=True)
class Row:
    """One rule. `line` is the row of the file as a spreadsheet shows it."""

    line: int
    tests: tuple[UnaryTests, ...]
    outputs: Mapping[str, Any]
    note: str = ""


@dataclass(frozen=True)
class Hit:
    """A rule that applies. `row` counts rules from 1; `tested` has its cells that are not dashes."""

    row: int
    line: int
    outputs: Mapping[str, Any]
    tested: Mapping[str, UnaryTests]


@dataclass(frozen=True)
class Table:
    """A decision table, ready to evaluate. Two columns may test the same fact.

    `scope`: what every row tests, by the line `when` over the headings; the table says nothing beyond it.
    """

    name: str
    file: str
    policy: HitPolicy
    each: Each
    inputs: tuple[Column, ...]
    outputs: tuple[Output, ...]
    rows: tuple[Row, ...]
    scope: Mapping[str, UnaryTests] = field(default_factory=dict)

    def evaluate(self, facts: Mapping[str, Any], item: Mapping[str, Any] | None = None) -> list[Hit]:
        """The rules that apply, in the order of the rows; at most one under `unique` and `first`.

        A column reads the item's field of that name, else the fact. Without a match the list is
        empty. Raises TableError if several rules apply under `unique`.
        """
        live = self._everything
        for column, dashes, words, groups, others in self._compiled:
            value = _look_up(column, facts, item)
            passed = dashes
            if isinstance(value, str):
                passed, groups = passed | words.get(value, 0), others
            if value is not None:
                for tests, rows in groups:
                    if rows & live and tests.holds(value):
                        passed |= rows
            live &= passed
            if not live:
                return []
        if self.policy == "first":
            live &= -live
        elif self.policy == "unique" and live & (live - 1):
            raise TableError(self._several(live))
        return [self._hits[index] for index in _bits(live)]

    @cached_property
    def _everything(self) -> int:
        return (1 << len(self.rows)) - 1

    @cached_property
    def _compiled(self) -> tuple[tuple[str, int, Mapping[str, int], Groups, Groups], ...]:
        """For each column: its id, the rows with a dash, the rows of each word that a cell lists, each
        different test with its rows, and of these the tests that say more than words. Columns that every
        row tests come first: where such a fact is missing nothing applies, and nothing else is looked at."""
        columns = ((column.id, *self._grouped(at)) for at, column in enumerate(self.inputs))
        return tuple(sorted(columns, key=lambda column: column[1] != 0))

    def hears_of(self, finding: str) -> bool:
        """Whether a row of a table with `each,findings` may apply to that finding."""
        return self._findings is None or finding in self._findings

    @cached_property
    def _findings(self) -> frozenset[str] | None:
        """The findings that the column `finding` lists; None where a row says it otherwise."""
        at = [number for number, column in enumerate(self.inputs) if column.id == "finding"]
        cells = [row.tests[number] for row in self.rows for number in at]
        if not at or not all(cell.words for cell in cells):
            return None
        return frozenset(word for cell in cells for word in cell.words)

    def _grouped(self, at: int) -> tuple[int, Mapping[str, int], Groups, Groups]:
        dashes, groups, words = 0, dict[UnaryTests, int](), dict[str, int]()
        for index, row in enumerate(self.rows):
            tests = row.tests[at]
            if tests.is_any:
                dashes |= 1 << index
            else:
                groups[tests] = groups.get(tests, 0) | 1 << index
        for tests, rows in groups.items():
            for word in tests.words:
                words[word] = words.get(word, 0) | rows
        others = tuple((tests, rows) for tests, rows in groups.items() if not tests.words)
        return dashes, words, tuple(groups.items()), others

    @cached_property
    def _hits(self) -> tuple[Hit, ...]:
        return tuple(
            Hit(number, row.line, row.outputs, self._tested(row)) for number, row in enumerate(self.rows, 1)
        )

    def _tested(self, row: Row) -> Mapping[str, UnaryTests]:
        pairs = zip(self.inputs, row.tests, strict=True)
        return {column.id: tests for column, tests in pairs if not tests.is_any}

    def _several(self, live: int) -> str:
        lines = ", ".join(str(self.rows[index].line) for index in _bits(live))
        return f"{self.file}: rows {lines} apply together, but the hit policy is unique."

    def values_of(self, output: str) -> dict[str, list[Row]]:
        """Each different value, as text, that an output takes, with the rules that give it."""
        found: dict[str, list[Row]] = {}
        for row in self.rows:
            if output in row.outputs:
                found.setdefault(str(row.outputs[output]), []).append(row)
        return found

    @cached_property
    def gives(self) -> tuple[str, ...]:
        """The facts that its rows may make true: `finding.<id>`, and `explained.<id>`."""
        found = [f"finding.{id}" for id in self.values_of("finding")]
        explained = [f"explained.{id}" for ids in self.values_of("explains") for id in ids.split()]
        return tuple(dict.fromkeys(found + explained))

    def awaits(self) -> set[str]:
        """The facts about findings that must be settled first: `finding.<id>` and `explained.<id>`."""
        awaited = {column.id for column in self.inputs if column.id.startswith(("finding.", "explained."))}
        if self.each == "findings":
            at = [number for number, column in enumerate(self.inputs) if column.id == "finding"]
            words = (word for row in self.rows for number in at for word in row.tests[number].words)
            awaited |= {f"finding.{word}" for word in words}
        return awaited


def _look_up(id: str, facts: Mapping[str, Any], item: Mapping[str, Any] | None) -> Any:
    if item is not None and id in item:
        return item[id]
    if id in facts:
        return facts[id]
    if "." in id and not id.startswith("finding."):
        name, member = id.split(".", 1)
        held = facts.get(name)
        return held.get(member) if isinstance(held, Mapping) else None
    return None


def _bits(rows: int) -> list[int]:
    return [index for index in range(rows.bit_length()) if rows >> index & 1]


def shown_outputs(hit: Hit) -> dict[str, Any]:
    """A hit's outputs as columns: `says` and `says [fr]`, whole numbers as int, others as float."""
    columns: dict[str, Any] = {}
    for name, value in hit.outputs.items():
        if isinstance(value, Text):
            columns |= {name if lang == "en" else f"{name} [{lang}]": words for lang, words in value.items()}
        elif isinstance(value, (str, bool)):
            columns[name] = value
        else:
            columns[name] = int(value) if value.denominator == 1 else float(value)
    return columns
