"""Entries of whole steps, as they were kept before there were edits, taken over as edits of their parts.

Each pair that a revision of a step brought anew is an edit on top of the one before; a pair that the next
revision left out was taken back. An entry that waits in a clash is an edit on top of what it started from.
"""

from __future__ import annotations

import json
import tomllib
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID, uuid5

from sqlite_utils import Database

from intake.book.parts import PASSED, from_pairs
from intake.store import sql
from intake.store.books import unpacked
from intake.store.sql import Row

FIRST = 100_000_000
"""Versions of the store count from here; below it a number that a page started from is a step's revision."""
NAMES = UUID("019ac0de-5e1f-7a4b-8c3d-2b1a0f9e8d7c")


def convert(db: Database) -> None:
    """Write an edit for everything that steps and open clashes hold."""
    kinds = kinds_of(db)
    at = FIRST
    for (ticket,) in db.execute("select distinct ticket from steps order by ticket").fetchall():
        taken = _OfTicket(ticket)
        for row in sql.select(db, "steps", "ticket = ?", [ticket], order_by="saved_at, step, revision"):
            taken.revision(row, kinds)
        for row in sql.select(db, "clashes", "ticket = ? and settled_at = ''", [ticket], order_by="id"):
            taken.clash(row, kinds)
        for number, edit in enumerate(taken.edits, 1):
            sql.insert(db, "edits", {**edit, "at": at + number})
        at += len(taken.edits)
        for row in taken.standing(db):
            sql.insert(db, "parts", row)
    db.execute(
        "update quotes set version = coalesce((select max(at) from edits"
        " where edits.ticket = quotes.ticket and edits.taken_at <= quotes.made_at), 0)"
    )


def kinds_of(db: Database) -> dict[str, str]:
    """Question id → kind, of every book that the store holds; the newest says."""
    folders = db.execute(
        "select coalesce(r.folder, b.folder) from books b left join book_revisions r using (digest)"
        " order by b.loaded_at, r.number"
    )
    kinds: dict[str, str] = {}
    for (folder,) in folders.fetchall():
        for question in _questions(folder):
            kinds[str(question.get("id"))] = str(question.get("kind"))
    return kinds


def _questions(folder: bytes) -> list[Row]:
    try:
        found = tomllib.loads(unpacked(folder).get("checklist.toml", b"").decode("utf-8"))
    except (zipfile.BadZipFile, UnicodeDecodeError, tomllib.TOMLDecodeError):
        return []
    return [one for one in found.get("question", ()) if isinstance(one, dict)]


def entry_parts(row: Mapping[str, Any], kinds: Mapping[str, str]) -> dict[str, str]:
    """What an entry says of its parts, how the step was passed among them."""
    pairs: Iterable[tuple[str, str]] = ((name, value) for name, value in json.loads(row["fields"]))
    return {**from_pairs(kinds, pairs), f"{PASSED}{row['step']}": row["passed"]}


def edit_id(ticket: str, step: str, revision: object, part: str) -> str:
    """The id of the edit that a revision of a step became in that part."""
    return str(uuid5(NAMES, f"{ticket}/{step}/{revision}/{part}"))


@dataclass
class _OfTicket:
    """`values`: what stands. `heads`: part → the edits that nobody has replaced. `given`: step and revision →
    part → (edit, value), what that revision held."""

    ticket: str
    edits: list[Row] = field(default_factory=list)
    heads: dict[str, list[Row]] = field(default_factory=dict)
    given: dict[tuple[str, int], dict[str, Row]] = field(default_factory=dict)

    def revision(self, row: Row, kinds: Mapping[str, str]) -> None:
        before = self.given.get((row["step"], row["revision"] - 1), {})
        holds = dict(before)
        parts = entry_parts(row, kinds)
        for part, value in [*parts.items(), *((part, "") for part in before if part not in parts)]:
            held = self.heads.get(part, [])
            if value == (held[0]["value"] if held else ""):
                holds |= {part: held[0]} if held else {}
            elif value or part in parts or held[0] == before.get(part):
                holds[part] = self._add(row, row["revision"], part, value, [one["id"] for one in held])
                self.heads[part] = [holds[part]]
        self.given[(row["step"], row["revision"])] = holds

    def clash(self, row: Row, kinds: Mapping[str, str]) -> None:
        started = self.given.get((row["step"], row["based_on"]), {})
        for part, value in entry_parts(row, kinds).items():
            base, held = started.get(part), self.heads.get(part, [])
            if value in (base["value"] if base else "", *(one["value"] for one in held)):
                continue
            edit = self._add(row, f"clash {row['id']}", part, value, [base["id"]] if base else [])
            edit["fate"] = "clash" if held and held != [base] else "stands"
            self.heads[part] = [*(one for one in held if one != base), edit]

    def _add(self, row: Row, revision: object, part: str, value: str, base: list[str]) -> Row:
        edit = {
            "id": edit_id(self.ticket, row["step"], revision, part),
            "ticket": self.ticket,
            "part": part,
            "value": value,
            "base": " ".join(base),
            "by": "hand",
            "act": "",
            "log": "",
            "seq": 0,
            "fate": "stands",
            "same_as": "",
            "why": "",
            "who": "",
            "phone": "",
            "device": row["device"],
            "taken_at": row["saved_at"],
        }
        self.edits.append(edit)
        return edit

    def standing(self, db: Database) -> Iterator[Row]:
        """The rows of `parts`, once the edits are written."""
        ats = dict(db.execute("select id, at from edits where ticket = ?", [self.ticket]).fetchall())
        firsts = dict(
            db.execute(
                "select part, min(at) from edits where ticket = ? group by part", [self.ticket]
            ).fetchall()
        )
        for part, held in self.heads.items():
            yield {
                "ticket": self.ticket,
                "part": part,
                "value": held[0]["value"] if len(held) == 1 else "",
                "by": "hand",
                "heads": " ".join(one["id"] for one in held),
                "sides": len(held),
                "first": firsts[part],
                "at": max(ats[one["id"]] for one in held),
            }
