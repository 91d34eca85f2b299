"""One table tried on given facts, with nothing of its book but the groups of families."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from intake.book.files.families import groups_beside
from intake.book.files.tables import load_table
from intake.book.sfeel import Interval
from intake.book.tables import Table, shown_outputs
from intake.trade.units import SCALE, MeasureError, parse_measure


def try_table(path: Path, inputs: Mapping[str, Any]) -> dict[str, Any]:
    """Which rules fire and what they give: `{"rows": [1-based], "outputs": [{column: value}]}`.

    Inputs are as JSON gives them: numbers, text (`"5/64 in"`), truth values, lists, tables. A heading's
    unit holds for a number without one. A table with `each,pins` runs once for every table of the list
    `pins` (so `findings`, `jobs`) where the inputs have it, else once on the inputs themselves.
    Raises BookError for a faulty file, TableError for several rows under `unique`, MeasureError for a
    measure of another kind than the heading's.
    """
    table = load_table(path, groups=groups_beside(path))
    facts = _facts(table, inputs)
    listed = inputs.get(table.each) if table.each else None
    items = [_facts(table, item) for item in listed] if isinstance(listed, list) else [None]
    hits = [hit for item in items for hit in table.evaluate(facts, item)]
    return {"rows": [hit.row for hit in hits], "outputs": [shown_outputs(hit) for hit in hits]}


def _facts(table: Table, inputs: Mapping[str, Any]) -> dict[str, Any]:
    units = {column.id: column.unit for column in table.inputs}
    numeric = {
        column.id
        for at, column in enumerate(table.inputs)
        if column.unit
        or any(isinstance(test, Interval) for row in table.rows for test in row.tests[at].tests)
    }
    return {id: _fact(value, units.get(id, ""), id in numeric) for id, value in inputs.items()}


def _fact(value: Any, unit: str, numeric: bool) -> Any:
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, Mapping):
        return {key: _fact(item, unit, numeric) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return tuple(_fact(item, unit, numeric) for item in value)
    if isinstance(value, float | Decimal):
        return Fraction(repr(value) if isinstance(value, float) else value)
    if isinstance(value, int):
        return Fraction(value)
    return _number(str(value), unit) if numeric else str(value)


def _number(text: str, unit: str) -> Fraction | str:
    """A measure in the column's unit; text that is no number stays text where the column has no unit."""
    known = unit if unit in SCALE else ""
    try:
        return parse_measure(text, known)
    except MeasureError:
        if known:
            raise
        return text
