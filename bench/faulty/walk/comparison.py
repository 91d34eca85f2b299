"""What hands entered beside the store, the quote, the export and a page opened anew."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

from faulty.walk.notes import Notes
from intake.book.model import Book
from intake.book.parts import PASSED, PHOTOS, question_of, same_value
from intake.operations.export import export
from intake.quoting.quote import make_quote
from intake.quoting.to_json import quote_json
from intake.services.merge import NOTHING
from intake.services.walkins import as_json, walkin_from
from intake.store import edits, tickets
from intake.store.db import Store
from intake.store.edits import Row, Standing

EXPORTED = {"name": "customer_name", "serial": "serial"}


def is_answer(part: str) -> bool:
    """How a step was passed and what became of a photo are looked at elsewhere."""
    return not part.startswith((PASSED, PHOTOS))


@dataclass(frozen=True)
class Held:
    """A ticket as the store has it: its edits, refused ones left out, what stands, how many photos."""

    rows: list[Row]
    standing: dict[str, Standing]
    photos: int
    exported: Mapping[str, str]

    @property
    def by_hand(self) -> list[Row]:
        return [row for row in self.rows if row.by == "hand" and is_answer(row.part)]


def held(data: Path, ticket: str) -> Held:
    with closing(Store(data)) as store:
        rows = [row for row in edits.of_ticket(store.db, ticket) if row.fate != "refused"]
        export(store.db, data.parent / "export")
        photos = store.db.table("photos").count_where("ticket = ?", [ticket])
        standing, known = edits.standing(store.db, ticket), tickets.find(store.db, ticket)
    number = str(known.number) if known else ""
    with (data.parent / "export" / "tickets.csv").open(encoding="utf-8-sig", newline="") as file:
        exported = next((row for row in csv.DictReader(file) if row["number"] == number), {})
    return Held(rows, standing, photos, exported)


def lost(notes: Notes, found: Held, book: Book, photos_gone: int) -> list[str]:
    """Everything that is not as it ought to be, in words."""
    wanted = notes.photos_due - photos_gone
    few = [f"{found.photos} photos of {wanted}"] if found.photos < wanted else []
    return [
        *notes.wrong,
        *nowhere(notes, found.rows),
        *dropped(found),
        *invented(notes, found.by_hand),
        *unseen(notes, found),
        *unquoted(found.standing, book),
        *unexported(found),
        *few,
    ]


def nowhere(notes: Notes, rows: Iterable[Row]) -> Iterator[str]:
    """The last value of each page and part is in an edit, unless the page went before it was written down."""
    given = {(row.part, row.value) for row in rows}
    for (_, part), entry in notes.last_of_pages().items():
        if (part, entry.value) not in given and not notes.is_excused(entry):
            yield f"{part} {entry.value!r} of {entry.phone} is nowhere"


def dropped(found: Held) -> Iterator[str]:
    """A hand's edit stands, was replaced by one whose base it was, or says what another said already."""
    roots = {row.id: row.same_as or row.id for row in found.rows}
    seen = {roots.get(id, id) for row in found.rows for id in row.base}
    for row in found.by_hand:
        heads = found.standing[row.part].heads if row.part in found.standing else ()
        if row.id not in seen and row.id not in heads and not row.same_as:
            yield f"{row.part} {row.value!r} was dropped ({row.fate})"
    for part, held in found.standing.items():
        values = [row.value for row in found.rows if row.id in held.heads]
        if not held.is_open and values != [held.value]:
            yield f"{part} stands as {held.value!r}, its edit as {values}"


def invented(notes: Notes, rows: Iterable[Row]) -> Iterator[str]:
    """A hand's edit was given by a hand, on the phone that it came from."""
    given = {(entry.phone, entry.part, entry.value) for entry in notes.entries}
    for row in rows:
        if row.same_as == NOTHING:
            continue
        if (row.phone, row.part, row.value) not in given:
            yield f"{row.part} {row.value!r} was given by no hand on {row.phone}"


def unseen(notes: Notes, found: Held) -> Iterator[str]:
    """What an edit replaces was in sight there on its phone when a hand replaced it."""
    values = {row.id: row.value for row in found.rows}
    shown: dict[tuple[str, str], set[str]] = {}
    for entry in notes.entries:
        shown.setdefault((entry.phone, entry.part), set()).update(entry.shown)
    for row in found.by_hand:
        for id in row.base:
            before = values.get(id, "")
            if before and before not in shown.get((row.phone, row.part), ()):
                yield f"{row.part} {row.value!r} of {row.phone} replaces {before!r}, which it never showed"


def unquoted(standing: Mapping[str, Standing], book: Book) -> Iterator[str]:
    """What stands is in the walk-in that is quoted, and in the quote's JSON; what clashes is in neither."""
    walkin = walkin_from(book, standing.values())
    answers = json.loads(as_json(walkin))["answers"]
    for part, held in standing.items():
        if not is_answer(part) or held.by != "hand" or question_of(part) not in book.questions:
            continue
        given = _answer(answers, part)
        if held.is_open and given:
            yield f"{part} clashes, and is quoted as {given!r}"
        if not held.is_open and not same_value(book, part, given, held.value):
            yield f"{part} stands as {held.value!r} and is quoted as {given!r}"
    yield from _misread(answers, quote_json(make_quote(book, walkin, date.today())))


def _answer(answers: Mapping[str, Any], part: str) -> str:
    id, _, member = part.partition("/")
    answer = answers.get(id, "")
    if isinstance(answer, Mapping):
        return str(answer.get(member, ""))
    if isinstance(answer, list):
        return "yes" if member in map(str, answer) else ""
    return str(answer)


def _misread(answers: Mapping[str, Any], quote: Mapping[str, Any]) -> Iterator[str]:
    """What was measured is not called unmeasured; the deepest wear is the deepest of those entered."""
    for id in set(quote["not_measured"]) & answers.keys():
        yield f"{id} was answered and is called not measured"
    wear = [Fraction(value.split()[0]) for value in answers.get("fret_wear", {}).values()]
    reading = quote["readings"].get("deepest_wear")
    if wear and reading and abs(float(max(wear)) - reading["value"]) > 1e-9:
        yield f"the deepest wear is {max(wear)} and reads {reading['value']}"


def unexported(found: Held) -> Iterator[str]:
    for column, part in EXPORTED.items():
        value = found.standing[part].value if part in found.standing else ""
        if found.exported.get(column, "") != value:
            yield f"{part} stands as {value!r} and is exported as {found.exported.get(column)!r}"


def unlike(phone: str, seen: Mapping[str, Any], found: Held) -> Iterator[str]:
    """What a page opened now shows, beside what stands."""
    values = {row.id: row.value for row in found.rows}
    for part, held in found.standing.items():
        if part not in seen["parts"]:
            continue
        shown, clash = seen["parts"][part], seen["clashes"].get(part, [])
        if held.is_open and sorted(clash) != sorted(values[id] for id in held.heads):
            yield f"{part} clashes; {phone} shows {clash} of {[values[id] for id in held.heads]}"
        if not held.is_open and (clash or shown != held.value):
            yield f"{part} stands as {held.value!r}; {phone} shows {shown!r}, clash {clash}"
