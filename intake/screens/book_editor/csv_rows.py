"""A book's CSV for editing: a row that nobody touched keeps its very bytes."""

from __future__ import annotations

import csv
import io
from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from intake.book.files.spreadsheet import separator

BOM = "\ufeff"
MARKS = {BOM_UTF16_LE: "utf-16-le", BOM_UTF16_BE: "utf-16-be"}
SETTINGS = ("hit policy", "each", "when")


@dataclass(frozen=True)
class Record:
    """One record: its text with the line's end, and its cells, stripped as the loader reads them."""

    text: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Rows:
    """A file's records in order; numbers are those that a spreadsheet shows, from 1."""

    records: tuple[Record, ...]
    mark: str
    delimiter: str
    end: str
    encoding: str

    @classmethod
    def of(cls, content: bytes) -> Rows:
        """As the loader reads it. Raises UnicodeDecodeError, or csv.Error where quotes do not match."""
        encoding = next((name for mark, name in MARKS.items() if content.startswith(mark)), "utf-8")
        whole = content.decode(encoding)
        mark, whole = (BOM, whole[1:]) if whole.startswith(BOM) else ("", whole)
        delimiter, text = separator(whole)
        lines = list(io.StringIO(text, newline=""))
        first = next((line for line in lines if line.strip()), "")
        named = whole[: len(whole) - len(text)]
        reader, begun = csv.reader(iter(lines), delimiter=delimiter, strict=True), 0
        records = [Record(named, ())] if named else []
        for cells in reader:
            raw = "".join(lines[begun : reader.line_num])
            begun = reader.line_num
            records.append(Record(raw, tuple(cell.strip() for cell in cells)))
        end = "\r\n" if first.endswith("\r\n") else "\n"
        return cls(tuple(records), mark, delimiter, end, encoding)

    def __bytes__(self) -> bytes:
        return (self.mark + "".join(record.text for record in self.records)).encode(self.encoding)

    @cached_property
    def top(self) -> int:
        """The number of the row of headings; 0 if there is none."""
        for number, record in enumerate(self.records, 1):
            if any(record.cells) and not _is_setting(record.cells):
                return number
        return 0

    @cached_property
    def headings(self) -> tuple[str, ...]:
        return self.records[self.top - 1].cells if self.top else ()

    @cached_property
    def settings(self) -> dict[str, str]:
        """`hit policy` and `each`, where the file has them."""
        before = (record.cells for record in self.records[: max(self.top - 1, 0)] if any(record.cells))
        return {cells[0].lower(): cells[1] for cells in before if len(cells) > 1}

    @cached_property
    def body(self) -> dict[int, tuple[str, ...]]:
        """Every row under the headings that holds anything, by number, as wide as the headings."""
        return {
            number: self._wide(record.cells)
            for number, record in enumerate(self.records, 1)
            if number > self.top and any(record.cells)
        }

    def dicts(self) -> dict[int, dict[str, str]]:
        """The rows by heading."""
        return {number: dict(zip(self.headings, cells, strict=True)) for number, cells in self.body.items()}

    def changed(self, number: int, cells: Sequence[str]) -> Rows:
        """With other cells in that row; the very same file if they are those that stand there."""
        if tuple(cells) == self.body[number]:
            return self
        return self._with(number - 1, number, [self._record(cells)])

    def inserted(self, after: int, cells: Sequence[str]) -> Rows:
        """With a new row below that one."""
        return self._with(after, after, [self._record(cells)])

    def removed(self, number: int) -> Rows:
        return self._with(number - 1, number, [])

    def moved(self, number: int, to: int) -> Rows:
        """With that row in the place of another."""
        kept = [*self.records]
        kept.insert(to - 1, kept.pop(number - 1))
        return replace(self, records=self._ended(kept))

    def with_column(self, heading: str, cell: str) -> Rows:
        """With one more column before the notes, else at the end, and that cell in every row."""
        at = self.headings.index("note") if "note" in self.headings else len(self.headings)
        new = {self.top: self.headings} | self.body
        records = [
            self._record([*new[number][:at], heading if number == self.top else cell, *new[number][at:]])
            if number in new
            else record
            for number, record in enumerate(self.records, 1)
        ]
        return replace(self, records=self._ended(records))

    def _with(self, first: int, last: int, new: list[Record]) -> Rows:
        return replace(self, records=self._ended([*self.records[:first], *new, *self.records[last:]]))

    def _ended(self, records: list[Record]) -> tuple[Record, ...]:
        """A last line without an end gets one once another follows it."""
        return tuple(
            record if record.text.endswith(("\n", "\r")) or at == len(records) - 1 else self._end(record)
            for at, record in enumerate(records)
        )

    def _end(self, record: Record) -> Record:
        return Record(record.text + self.end, record.cells)

    def _record(self, cells: Sequence[str]) -> Record:
        target = io.StringIO(newline="")
        csv.writer(target, delimiter=self.delimiter, lineterminator=self.end).writerow(cells)
        return Record(target.getvalue(), tuple(cells))

    def _wide(self, cells: tuple[str, ...]) -> tuple[str, ...]:
        width = len(self.headings)
        return cells[:width] + ("",) * (width - len(cells))


def _is_setting(cells: Sequence[str]) -> bool:
    """A line over the headings; a row that has outputs is the headings, whatever it begins with."""
    return cells[0].lower() in SETTINGS and not any(cell.startswith("then ") for cell in cells)
