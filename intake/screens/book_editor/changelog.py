"""What differs between two folders of a book, in sentences: for the history and before saving."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from difflib import SequenceMatcher
from typing import Any

from tomlkit.exceptions import ParseError

from intake.i18n import _
from intake.screens.book_editor.checklist_toml import CHECKLIST
from intake.screens.book_editor.csv_rows import Rows
from intake.screens.book_editor.shop_toml import NAMES, SHOP, values
from intake.store.books import Files

MOST = 60
LONGEST = 60


def changes(old: Files, new: Files) -> list[str]:
    """Sentences, file by file; the last one counts what is left out."""
    said = [
        sentence
        for name in sorted(old.keys() | new.keys())
        if old.get(name) != new.get(name)
        for sentence in _of_file(name, old.get(name), new.get(name))
    ]
    if len(said) > MOST:
        said = [*said[:MOST], _("And {count} changes more.", count=len(said) - MOST)]
    return said


def _of_file(name: str, old: bytes | None, new: bytes | None) -> Iterator[str]:
    if new is None:
        yield _("{file} was taken out.", file=name)
    elif old is None:
        yield _("{file} is new.", file=name)
    else:
        yield from _compared(name, old, new)


def _compared(name: str, old: bytes, new: bytes) -> list[str]:
    """What changed inside; that it did, where its bytes cannot be read or say the same."""
    said: list[str] = []
    try:
        if name == SHOP:
            said = list(_of_shop(values(old), values(new)))
        elif name == CHECKLIST:
            said = list(_of_questions(_questions(old), _questions(new)))
        elif name.endswith(".csv"):
            said = list(_of_rows(name, Rows.of(old), Rows.of(new)))
    except (ParseError, UnicodeDecodeError, csv.Error):
        pass
    return said or [_("{file} was changed.", file=name)]


def _of_shop(old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[str]:
    before, after = dict(_flat(old)), dict(_flat(new))
    for key in dict.fromkeys((*before, *after)):
        if before.get(key) != after.get(key):
            yield f"{_named(key)}: {_moved(before.get(key, ''), after.get(key, ''))}"


def _questions(content: bytes) -> dict[str, dict[str, str]]:
    """Each question's values by their names, by id."""
    return {question["id"]: dict(_flat(question)) for question in values(content)["question"]}


def _of_questions(
    old: Mapping[str, Mapping[str, str]], new: Mapping[str, Mapping[str, str]]
) -> Iterator[str]:
    for id in dict.fromkeys((*old, *new)):
        if id not in new:
            yield _("{file}: {id} was taken out.", file=CHECKLIST, id=id)
        elif id not in old:
            yield _("{file}: {id} is new.", file=CHECKLIST, id=id)
        else:
            for key in dict.fromkeys((*old[id], *new[id])):
                if old[id].get(key) != new[id].get(key):
                    yield f"{CHECKLIST}, {id}, {key}: {_moved(old[id].get(key, ''), new[id].get(key, ''))}"


def _named(key: str) -> str:
    """`labour_rate` and `hours tue` as the forms call them; any other key as it stands."""
    name = key.removeprefix("hours ")
    return _(NAMES[name]) if name in NAMES else key


def _flat(value: Any, name: str = "") -> Iterator[tuple[str, str]]:
    """Every value by its name: `labour_rate`, `hours tue`, `tax 1 rate`."""
    if isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _flat(inner, f"{name} {key}".strip())
    elif isinstance(value, list) and any(isinstance(item, Mapping) for item in value):
        for number, item in enumerate(value, 1):
            yield from _flat(item, f"{name} {number}")
    else:
        yield name, ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def _of_rows(name: str, old: Rows, new: Rows) -> Iterator[str]:
    if old.headings != new.headings or old.settings != new.settings:
        return
    if "id" in old.headings:
        yield from _by_id(name, old, new)
        return
    before, after = list(old.body.items()), list(new.body.items())
    matcher = SequenceMatcher(None, [cells for _, cells in before], [cells for _, cells in after], False)
    for kind, a, b, c, d in matcher.get_opcodes():
        if kind == "equal":
            continue
        pairs = list(zip(before[a:b], after[c:d], strict=False))
        for (_at, was), (number, now) in pairs:
            yield from _cells(f"{name}, {_row(number)}", new.headings, was, now)
        for number, _cells_gone in before[a + len(pairs) : b]:
            yield _("{file}: row {number} was taken out.", file=name, number=number)
        for number, _cells_new in after[c + len(pairs) : d]:
            yield _("{file}: row {number} is new.", file=name, number=number)


def _by_id(name: str, old: Rows, new: Rows) -> Iterator[str]:
    at = new.headings.index("id")
    before = {cells[at]: cells for cells in old.body.values()}
    after = {cells[at]: cells for cells in new.body.values()}
    for id in dict.fromkeys((*before, *after)):
        if id not in after:
            yield _("{file}: {id} was taken out.", file=name, id=id)
        elif id not in before:
            yield _("{file}: {id} is new.", file=name, id=id)
        else:
            yield from _cells(f"{name}, {id}", new.headings, before[id], after[id])
    if list(before) != list(after) and before.keys() == after.keys():
        yield _("{file}: the rows stand in another order.", file=name)


def _cells(
    place: str, headings: tuple[str, ...], was: tuple[str, ...], now: tuple[str, ...]
) -> Iterator[str]:
    for heading, before, after in zip(headings, was, now, strict=True):
        if before != after:
            yield f"{place}, {heading}: {_moved(before, after)}"


def _row(number: int) -> str:
    return _("row {number}", number=number)


def _moved(before: str, after: str) -> str:
    return f"{_short(before)} → {_short(after)}"


def _short(text: str) -> str:
    text = text or _("nothing")
    return text if len(text) <= LONGEST else text[: LONGEST - 1] + "…"
