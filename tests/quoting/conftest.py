"""Small books made in memory, so that a test states only the jobs and rules that it is about."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, time, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from intake.book.model import TAXABLE, Book, Hours, Job, Operation, Part, Shop, Tax
from intake.book.sfeel import parse_tests
from intake.book.tables import Column, Output, Row, Table
from intake.book.text import Text
from intake.quoting.model import Assessment, Finding, Quote
from intake.quoting.quote import quote_assessment

TODAY = date(2026, 11, 24)


def hours(quick: float | str, usual: float | str = "", slow: float | str = "") -> Hours:
    low = Fraction(str(quick))
    return Hours(low, Fraction(str(usual or quick)), Fraction(str(slow or usual or quick)))


class Maker:
    """Builds jobs, tables, shops, books, findings and quotes with defaults for all that is not said."""

    today = TODAY
    hours = staticmethod(hours)

    def job(self, id: str, stage: int = 5, **given: Any) -> Job:
        fields: dict[str, Any] = {
            "group": "group", "name": Text(en=id), "hours": hours(1, 2, 3), "price": None, "per": Text(en=""),
            "after": (), "needs": (), "needs_if_found": (), "includes": (), "forecast_after": (),
            "operations": (), "parts": (), "wait": timedelta(), "wait_kind": "", "splits": True, "skill": 1,
            "caution": None,
        }  # fmt: skip
        return Job(id=id, stage=stage, **{**fields, **given})

    def shop(self, **given: Any) -> Shop:
        day = ((time(10), time(18)),)
        fields: dict[str, Any] = {
            "name": "Corner Bench", "address": (), "phone": "", "email": "", "currency": "USD",
            "locale": "en_US", "languages": ("en", "fr"), "region": "", "labour_rate": Decimal(60),
            "rounding": Decimal("0.01"), "minimum": Decimal(0), "supplies_rate": Decimal(0),
            "deposit_rate": Decimal(0), "valid_days": 30, "worth_warning": Decimal("0.5"),
            "open_hours": {1: day, 2: day, 3: day, 4: day, 5: ((time(10), time(16)),)}, "closed": (),
            "productive_share": Fraction(3, 4), "answer_days": 7, "terms": (), "note": Text(en=""),
        }  # fmt: skip
        return Shop(**{**fields, **given})

    def tax(self, rate: str, *on: Any, name: str = "Tax", included: bool = False) -> Tax:
        """On every kind of line, unless kinds are named."""
        return Tax(Text(en=name), Decimal(rate), on or TAXABLE, included)

    def table(self, name: str, inputs: Sequence[str], rows: Sequence[Sequence[Any]], outputs: Sequence[str]):
        """A `collect` table; each row is its cells as the notation has them, then its outputs."""
        made = []
        for line, row in enumerate(rows, 3):
            cells, values = row[: len(inputs)], row[len(inputs) :]
            given = {
                name: value for name, value in zip(outputs, values, strict=False) if value not in ("", None)
            }
            made.append(Row(line, tuple(parse_tests(cell) for cell in cells), given))
        columns = tuple(Column(id, "", id) for id in inputs)
        results = tuple(Output(output, "", "", f"then {output}") for output in outputs)
        return Table(name, f"{name}.csv", "collect", "", columns, results, tuple(made))

    def book(self, jobs: Sequence[Job], remedies: Sequence[Sequence[Any]] = (), **given: Any) -> Book:
        """Rows of `remedies`: finding, job, tier, and if wanted quantity and what it stands instead of."""
        quoted = [(f'"{row[0]}"', *row[1:]) for row in remedies]
        results = ("job", "tier", "quantity", "instead of")
        empty = self.table("empty", (), (), ())
        fields: dict[str, Any] = {
            "shop": self.shop(), "steps": (), "questions": {}, "targets": empty, "defaults": empty,
            "tables": {}, "remedies": self.table("remedies", ("finding",), quoted, results), "factors": empty,
            "fitting": empty, "operations": {}, "parts": {}, "strings": (), "woods": (), "digest": "d",
        }  # fmt: skip
        return Book(jobs={job.id: job for job in jobs}, **{**fields, **given})

    def operation(self, id: str, *saving: float | str) -> Operation:
        return Operation(id, Text(en=id), hours(*saving))

    def part(
        self, id: str, price: str | None, taxed: bool = True, cost: str = "1", unit: str = "piece"
    ) -> Part:
        return Part(id, Text(en=id), Decimal(cost), None if price is None else Decimal(price), unit, taxed)

    def finding(self, id: str, severity: Any = "work", pin: int | None = None, **given: Any) -> Finding:
        item = None if pin is None else {"number": pin, **given.pop("item", {})}
        says = Text(en=f"{id} {pin or ''}".strip())
        return Finding(id=id, severity=severity, says=says, evidence=(), item=item, **given)

    def assessment(self, *findings: Finding | str, facts: Mapping[str, Any] | None = None) -> Assessment:
        made = tuple(self.finding(each) if isinstance(each, str) else each for each in findings)
        return Assessment(facts or {}, {}, made, (), frozenset(), frozenset(), {})

    def quote(self, book: Book, *findings: Finding | str, facts: Mapping[str, Any] | None = None) -> Quote:
        return quote_assessment(book, self.assessment(*findings, facts=facts), TODAY)


@pytest.fixture(scope="session")
def make() -> Maker:
    return Maker()
