"""Whole steps and whole forms, as pages without edits send them, taken apart into edits of their parts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid4, uuid5

from sqlite_utils import Database

from intake.book.model import Book
from intake.book.parts import PASSED, from_pairs, question_of
from intake.services.edits import Sent, fold_rows
from intake.services.merge import Part
from intake.store import edits
from intake.store.edits import Row, Standing
from intake.store.step_conversion import FIRST

NAMES = UUID("019ac0de-71c3-7d5e-9a64-0c8b7a6f5e4d")
Pairs = Iterable[tuple[str, str]]


@dataclass(frozen=True)
class Entry:
    """One step as posted: flat fields in their order, how it was passed, and what the page started from."""

    step: str
    fields: tuple[tuple[str, str], ...]
    passed: str = ""
    based_on: int = 0
    key: str = ""


def edits_of_entry(
    db: Database, book: Book, kinds: Mapping[str, str], ticket: str, entry: Entry
) -> list[Sent]:
    """A pair that differs from what the page started from is an edit on top of that; a pair that is missing
    takes nothing back, unless the page was one that knew of versions, and showed it. Under another book the
    question may have come to this step since."""
    shown = parts_at(db, ticket, version_of(db, ticket, entry.step, entry.based_on))
    given = parts_of_entry(book, kinds, entry)
    left_out = [
        part
        for part, held in shown.items()
        if entry.based_on >= FIRST
        and not _is_other_book(db, entry.based_on)
        and held.value
        and part not in given
        and _is_on_page(book, part, entry.step)
    ]
    changed = [(part, value) for part, value in given.items() if value.strip() != _value(shown, part).strip()]
    changed += [(part, "") for part in left_out]
    return [
        Sent(_id(entry.key, part), part, value, _base(shown, part), _by(book, entry, part, value))
        for part, value in changed
    ]


def parts_of_entry(book: Book, kinds: Mapping[str, str], entry: Entry) -> dict[str, str]:
    """What the entry says of each part, how the step was passed among them."""
    return {**from_pairs(kinds, entry.fields), f"{PASSED}{entry.step}": entry.passed}


def parts_at(db: Database, ticket: str, version: int | None) -> dict[str, Part]:
    """Every part as a page of that version showed it."""
    rows: dict[str, list[Row]] = {}
    for row in edits.of_ticket(db, ticket):
        if row.fate != "refused" and (version is None or row.at <= version):
            rows.setdefault(row.part, []).append(row)
    return {part: fold_rows(found) for part, found in rows.items()}


def version_of(db: Database, ticket: str, step: str, based_on: int) -> int:
    """The version that a page showed: itself, or that of a step's revision from before there were edits."""
    if based_on >= FIRST or not based_on:
        return based_on
    row = db.execute(
        "select coalesce(max(e.at), 0) from edits e where e.ticket = ? and e.log = '' and e.taken_at <="
        " (select max(saved_at) from steps where ticket = ? and step = ? and revision <= ?)",
        [ticket, ticket, step, based_on],
    ).fetchone()
    return int(row[0])


def edits_of_form(
    book: Book, kinds: Mapping[str, str], ticket_key: str, pairs: Pairs, page: Mapping[str, tuple[str, str]]
) -> list[Sent]:
    """A whole form's parts whose value is not the one shown. `page`: part → base and the value shown."""
    given = from_pairs(kinds, pairs)
    parts = dict.fromkeys([*given, *page])
    return [
        Sent(_id(ticket_key, part), part, given.get(part, ""), tuple(page.get(part, ("", ""))[0].split()))
        for part in parts
        if not part.startswith(PASSED) and given.get(part, "").strip() != page.get(part, ("", ""))[1].strip()
    ]


def unseen(book: Book, kinds: Mapping[str, str], entry: Entry, standing: Mapping[str, Standing]) -> bool:
    """Whether the step holds something that the page which sent the entry does not show."""
    given = parts_of_entry(book, kinds, entry)
    return any(
        held.is_open or (held.value and held.value.strip() != given.get(part, "").strip())
        for part, held in standing.items()
        if _is_on_page(book, part, entry.step)
    )


def _is_other_book(db: Database, version: int) -> bool:
    """Whether the book in force came after that version."""
    row = db.execute(
        "select (select taken_at from edits where at <= ? order by at desc limit 1)"
        " < (select at from book_revisions order by number desc limit 1)",
        [version],
    ).fetchone()
    return bool(row[0])


def _is_on_page(book: Book, part: str, step: str) -> bool:
    question = book.questions.get(question_of(part))
    return question is not None and question.step == step and question.kind != "photos"


def _value(shown: Mapping[str, Part], part: str) -> str:
    return shown[part].value if part in shown else ""


def _base(shown: Mapping[str, Part], part: str) -> tuple[str, ...]:
    return tuple(head.id for head in shown[part].heads) if part in shown else ()


def _by(book: Book, entry: Entry, part: str, value: str) -> str:
    """A page that passes a step as sound fills in its sound answers before it sends it."""
    question = book.questions.get(question_of(part))
    if entry.passed != "all_sound" or question is None or question.sound is None:
        return "hand"
    sound = from_pairs({question.id: question.kind}, [(question.id, question.sound)])
    return "sound" if sound.get(part) == value else "hand"


def _id(key: str, part: str) -> str:
    return str(uuid5(NAMES, f"{key}/{part}")) if key else str(uuid4())


def kinds_of(book: Book, before: Mapping[str, str]) -> dict[str, Any]:
    """Question id → kind, of this book and, for what it no longer asks, of those before."""
    return {**before, **{id: question.kind for id, question in book.questions.items()}}
