"""The parts of an answer: what is changed, sent and merged by itself.

A question that takes one value is one part, `relief`. One that has members is a part a member:
`fret_wear/7`, `original/bridge`, `complaints/buzz`, `gauges/3`, `buzz_at/6-2`, `pins/<id>`. "None" is a
member. How a step was passed is the part `passed.<step>`. A photo is the part `photos/<id>`, which holds
"there", and nothing once the photo is taken away.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from intake.book.answer_kinds import READERS
from intake.book.answers import MAPPED, MAY_BE_NONE
from intake.book.model import Book, Question
from intake.book.scalars import Asked, Refused, truth

LONGEST_PART = 200
LONGEST_VALUE = 20_000
TICKED = "yes"
PASSED = "passed."
PHOTOS = "photos/"
PHOTO_THERE = "there"
TICKS = ("several", "frets")
SPLITS = {
    "several": re.compile(r"[,;\n]"),
    "frets": re.compile(r"[,;\s]+"),
    "string_frets": re.compile(r"[,;\s]+"),
}
"""How one text that holds several members of such a question is taken apart."""
_PART = re.compile(r"[A-Za-z][A-Za-z0-9_.-]*(/[^\x00-\x1f\x7f]+)?")
Pair = tuple[str, str]


def is_part(text: str) -> bool:
    """Whether it can name a part; its question need not stand in any book."""
    return len(text) <= LONGEST_PART and _PART.fullmatch(text) is not None


def question_of(part: str) -> str:
    """The id of the part's question."""
    return part.partition("/")[0]


def member_of(part: str) -> str:
    """The member within the question; empty where the question is the part."""
    return part.partition("/")[2]


def from_pairs(kinds: Mapping[str, str], pairs: Iterable[Pair]) -> dict[str, str]:
    """A form's flat fields as parts, blank ones too: part → value.

    `kinds`: question id → kind; of others the shape of the name decides. Blank ticks name no part, and a
    pin's fields join into one value.
    """
    parts: dict[str, str] = {}
    pins: dict[str, dict[str, str]] = {}
    cells: dict[str, int] = {}
    pairs = list(pairs)
    names = [name for name, _ in pairs]
    for name, value in pairs:
        id, _, member = name.partition(".")
        kind = kinds.get(id) or _kind_by_shape(member, names.count(name))
        if kind == "pins" and "." in member:
            number, _, field = member.rpartition(".")
            pins.setdefault(f"{id}/{number}", {})[field] = value
        elif kind == "measures" and not member:
            cells[id] = cells.get(id, 0) + 1
            parts[f"{id}/{cells[id]}"] = value
        else:
            parts.update(_plain(id, member, kind, value))
    return parts | {part: as_pin(fields) for part, fields in pins.items()}


def _kind_by_shape(member: str, times: int) -> str:
    return "pins" if "." in member else "part_states" if member else "several" if times > 1 else "one"


def _plain(id: str, member: str, kind: str, value: str) -> Iterator[Pair]:
    if member:
        yield f"{id}/{member}", value
    elif kind in MAY_BE_NONE and value.strip() == "none":
        yield f"{id}/none", TICKED
    elif kind in SPLITS:
        for item in _items(kind, value):
            yield f"{id}/{item.replace('/', '-')}"[:LONGEST_PART], item if kind == "string_frets" else TICKED
    else:
        yield id, value


def _items(kind: str, value: str) -> list[str]:
    return [item.strip() for item in SPLITS[kind].split(value) if item.strip()]


def as_pin(fields: Mapping[str, Any]) -> str:
    """A pin as one value: a JSON object of what is not blank; empty where nothing is."""
    held = {name: str(value) for name, value in sorted(fields.items()) if str(value).strip()}
    held.pop("id", None)
    return json.dumps(held, ensure_ascii=False) if held else ""


def of_pin(value: str) -> dict[str, str]:
    """The fields of a pin; none where the value is no pin."""
    try:
        found = json.loads(value)
    except (ValueError, RecursionError):
        return {}
    return {str(name): str(held) for name, held in found.items()} if isinstance(found, dict) else {}


def to_raw(book: Book, values: Mapping[str, str]) -> dict[str, Any]:
    """Parts as raw answers, for `read_answers`; what this book does not ask is left out.

    "none" beside other members stays among them, for `read_answers` to refuse.
    """
    grouped: dict[str, dict[str, str]] = {}
    for part, value in values.items():
        if value.strip() and not part.startswith(PHOTOS):
            grouped.setdefault(question_of(part), {})[member_of(part)] = value
    return {
        id: _raw(question, grouped[id]) for id, question in book.questions.items() if id in grouped
    }  # in the book's order


def _raw(question: Question, members: dict[str, str]) -> Any:
    none = question.kind in MAY_BE_NONE and members.pop("none", "")
    if none and not members:
        return "none"
    if question.kind in MAPPED:
        held = {member: members[member] for member in sorted(members, key=_natural) if member}
        return {"none": "none", **held} if none else held
    if question.kind == "pins":
        pins = [{**of_pin(value), "id": member} for member, value in members.items()]
        return ["none", *pins] if none else pins
    if question.kind == "measures":
        return _cells(members)
    if question.kind in SPLITS or question.kind == "photos":
        listed = [_item(question.kind, member, value) for member, value in members.items()]
        ordered = sorted(listed, key=lambda item: _place(question, item))
        return ["none", *ordered] if none else ordered
    found = [member or value for member, value in members.items()]
    return found[0] if len(found) == 1 else members.get("", found)


def _item(kind: str, member: str, value: str) -> str:
    return member if member and (kind in TICKS or truth(value) is True) else value


def _cells(members: Mapping[str, str]) -> list[str]:
    """Values by the number of their cell, a blank one where none was given."""
    numbers = {int(member): value for member, value in members.items() if re.fullmatch("[1-9][0-9]?", member)}
    others = [value for member, value in members.items() if not re.fullmatch("[1-9][0-9]?", member)]
    return [numbers.get(at, "") for at in range(1, max(numbers, default=0) + 1)] + others


def _place(question: Question, item: str) -> tuple[Any, ...]:
    ids = [choice.id for choice in question.values]
    return (ids.index(item), ()) if item in ids else (len(ids), _natural(item))


def _natural(text: str) -> tuple[Any, ...]:
    """A key by which 9 comes before 10, however many digits there are."""
    pieces = ((piece.isdecimal(), piece.lstrip("0")) for piece in re.findall(r"\d+|\D+", text))
    return tuple((0, len(piece), piece) if number else (1, 0, piece) for number, piece in pieces)


def same_value(book: Book, part: str, one: str, other: str) -> bool:
    """Whether both say the same, as the book reads them; else as text."""
    if one.strip() == other.strip():
        return True
    if not one.strip() or not other.strip():
        return False
    question = book.questions.get(question_of(part))
    if question is None:
        return False
    try:
        return bool(_read(question, part, one) == _read(question, part, other))
    except Refused:
        return False


def _read(question: Question, part: str, value: str) -> Any:
    member = member_of(part)
    if question.kind == "pins":
        written: Any = [of_pin(value)]
    elif question.kind in ("fret_depths", "part_depths"):
        written = {member: value}
    else:
        written = value
    if member and question.kind in (*TICKS, "part_states", "photos"):
        return value.strip()
    return READERS[question.kind](Asked(question, {}), written)
