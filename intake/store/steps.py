"""Entries of the steps. Every save of a step appends a revision; nothing typed is ever overwritten."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Literal

from sqlite_utils import Database

from intake.store.timestamps import stamp

Pairs = tuple[tuple[str, str], ...]
Passed = Literal["", "not_assessed", "all_sound"]


@dataclass(frozen=True)
class Entry:
    """One step as typed: flat fields in the order posted, valid or not."""

    step: str
    fields: Pairs
    passed: str = ""
    device: str = ""
    revision: int = 0
    saved_at: str = ""

    def same_words(self, other: Entry) -> bool:
        return self.fields == other.fields and self.passed == other.passed


@dataclass(frozen=True)
class Saved:
    """`entry` is what the step holds now; with a clash, `refused` is what was sent instead. `unseen` are
    the fields of it that the sender has not seen and so could not take back."""

    entry: Entry
    refused: Entry | None = None
    unseen: Pairs = ()


def latest(db: Database, ticket: str) -> dict[str, Entry]:
    """Each step's newest entry."""
    rows = db.query("select *, max(revision) from steps where ticket = ? group by step", [ticket])
    return {row["step"]: _entry(row) for row in rows}


def history(db: Database, ticket: str, step: str) -> list[Entry]:
    """All entries of a step, oldest first."""
    where = "ticket = ? and step = ?"
    return [_entry(row) for row in db.table("steps").rows_where(where, [ticket, step], order_by="revision")]


def open_clashes(db: Database, ticket: str) -> dict[str, Entry]:
    """Per step, the latest entry that lost to another device and still waits for somebody to choose."""
    rows = db.table("clashes").rows_where("ticket = ? and settled_at = ''", [ticket], order_by="id")
    return {row["step"]: _entry(row) for row in rows}


def save(db: Database, ticket: str, entry: Entry, based_on: int, now: datetime) -> Saved:
    """Append the entry, or keep it as a clash.

    It is a clash when the step no longer holds what the sender started from: revision `based_on`,
    or a later entry of the same device. The same words from both sides never clash. The device
    that lost settles its clash by saving anew, any other by saving what was lost. A sender that has
    not seen the newest revision takes nothing back: the fields that it does not hold are kept.
    """
    past = history(db, ticket, entry.step)
    current = past[-1] if past else Entry(entry.step, ())
    base = _base(past, entry, based_on)
    if not (current.same_words(base) or current.same_words(entry)):
        _keep_clash(db, ticket, entry, based_on, current.revision, now)
        return Saved(current, entry)
    unseen = _unseen(entry, current) if based_on < current.revision else ()
    if based_on < current.revision:
        entry = _beside(entry, current, unseen)
    if past and current.same_words(entry) and current.device == entry.device:
        return Saved(current, unseen=unseen)
    saved = Entry(entry.step, entry.fields, entry.passed, entry.device, current.revision + 1, stamp(now))
    db.table("steps").insert({"ticket": ticket, **_row(saved), "revision": saved.revision})
    clash = open_clashes(db, ticket).get(entry.step)
    if clash and based_on >= current.revision and (clash.device == entry.device or clash.same_words(entry)):
        settle(db, ticket, entry.step, now)
    return Saved(saved, unseen=unseen)


def settle(db: Database, ticket: str, step: str, now: datetime) -> None:
    """Somebody has chosen: what the step holds now stands, and its clashes are history."""
    db.execute(
        "update clashes set settled_at = ? where ticket = ? and step = ? and settled_at = ''",
        [stamp(now), ticket, step],
    )


def _base(past: list[Entry], entry: Entry, based_on: int) -> Entry:
    own = [old.revision for old in past if entry.device and old.device == entry.device]
    started_from = min(max([based_on, *own]), len(past))
    return past[started_from - 1] if started_from > 0 else Entry(entry.step, ())


def _unseen(entry: Entry, current: Entry) -> Pairs:
    """The fields that stand in the step and that the entry does not hold."""
    held = {_member(name) for name, _ in entry.fields}
    return tuple(pair for pair in current.fields if _member(pair[0]) not in held)


def _beside(entry: Entry, current: Entry, unseen: Pairs) -> Entry:
    """The entry with what its sender has not seen."""
    says_more = not set(entry.fields) <= set(current.fields)
    fields = entry.fields + unseen if says_more else current.fields
    passed = "" if says_more and current.passed == "not_assessed" else current.passed
    return replace(entry, fields=fields, passed=entry.passed or passed)


def _member(name: str) -> str:
    """A field of its own: `relief`, `fret_wear.3`; of a pin, all that is known of it."""
    return ".".join(name.split(".")[:2])


def _keep_clash(db: Database, ticket: str, entry: Entry, based_on: int, revision: int, now: datetime) -> None:
    row = {**_row(entry), "ticket": ticket, "based_on": based_on, "revision": revision}
    db.table("clashes").insert({**row, "saved_at": stamp(now), "settled_at": ""})


def _row(entry: Entry) -> dict[str, Any]:
    return {
        "step": entry.step,
        "fields": json.dumps(entry.fields, ensure_ascii=False),
        "passed": entry.passed,
        "device": entry.device,
        "saved_at": entry.saved_at,
    }


def _entry(row: dict[str, Any]) -> Entry:
    pairs = _pairs(json.loads(row["fields"]))
    return Entry(row["step"], pairs, row["passed"], row["device"], row["revision"], row["saved_at"])


def _pairs(found: Iterable[Iterable[str]]) -> Pairs:
    return tuple((name, value) for name, value in found)
