"""Tickets, customers and quotes as CSV, for a spreadsheet or another program."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from intake.store import sql

Row = Mapping[str, object]
FORMULA = tuple("=+-@\t\r\n\0|＝＋－＠")
"""What makes a spreadsheet take a cell for a formula (ASVS 5.0, 1.2.10, with the wide forms besides; the bar
and the line end from memory)."""
NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
TICKETS = (
    "select number, created, updated, state, name, phone, family, serial, total, currency, ready, language"
    " from tickets order by number"
)
CUSTOMERS = (
    "select name, phone, count(*) as tickets, min(created) as first, max(created) as last from tickets"
    " where name <> '' or phone <> '' group by name, phone order by name, phone"
)
QUOTES = (
    "select t.number, q.revision, q.made_at as made, q.staff, q.book_digest as book, q.quote from quotes q"
    " join tickets t on t.id = q.ticket order by t.number, q.revision"
)


def export(db: Database, folder: Path) -> dict[str, int]:
    """Write the three files into the folder; how many rows each has.

    UTF-8 with a byte order mark, commas, CR LF (RFC 4180), every cell in quotes.
    """
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    tables: dict[str, Callable[[], Iterable[Row]]] = {
        "tickets.csv": lambda: sql.iterate(db, TICKETS),
        "customers.csv": lambda: sql.iterate(db, CUSTOMERS),
        "quotes.csv": lambda: map(_with_totals, sql.iterate(db, QUOTES)),
    }
    return {name: _write(folder / name, rows()) for name, rows in tables.items()}


def cell(value: object) -> str:
    """The value as no spreadsheet takes it for a formula: words that could be one get an apostrophe first."""
    text = "" if value is None else str(value)
    if text.lstrip().startswith(FORMULA) or text.startswith(FORMULA):
        text = text if NUMBER.fullmatch(text) else f"'{text}"
    return text.replace("\0", "")


def _with_totals(row: Mapping[str, Any]) -> dict[str, object]:
    """Each offer's total and day instead of the whole quote."""
    plain = {name: value for name, value in row.items() if name != "quote"}
    for tier, offer in json.loads(row["quote"])["offers"].items():
        plain |= {f"{tier}_total": offer["total"], f"{tier}_ready_today": offer.get("ready_today", "")}
        plain |= {f"{tier}_ready": offer["ready"]}
    return plain


def _write(path: Path, rows: Iterable[Row]) -> int:
    path.unlink(missing_ok=True)
    path.touch(mode=0o600)
    with path.open("w", encoding="utf-8-sig", newline="") as handle:
        return sum(1 for _ in _lines(csv.writer(handle, quoting=csv.QUOTE_ALL), rows))


def _lines(writer: Any, rows: Iterable[Row]) -> Iterator[None]:
    for number, row in enumerate(rows):
        if number == 0:
            writer.writerow(row)
        yield writer.writerow(map(cell, row.values()))
