"""Entries of whole steps, as they were kept before there were edits. They stay as they are, and what they
said is among the edits."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlite_utils import Database

from intake.store import sql

Pairs = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Entry:
    """One step as typed: flat fields in the order posted, valid or not."""

    step: str
    fields: Pairs
    passed: str = ""
    device: str = ""
    revision: int = 0
    saved_at: str = ""


def history(db: Database, ticket: str, step: str) -> list[Entry]:
    """All entries of a step, oldest first."""
    where = "ticket = ? and step = ?"
    return [_entry(row) for row in sql.select(db, "steps", where, [ticket, step], order_by="revision")]


def _entry(row: dict[str, Any]) -> Entry:
    pairs = _pairs(json.loads(row["fields"]))
    return Entry(row["step"], pairs, row["passed"], row["device"], row["revision"], row["saved_at"])


def _pairs(found: Iterable[Iterable[str]]) -> Pairs:
    return tuple((name, value) for name, value in found)
