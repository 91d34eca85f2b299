"""checklist.toml for editing: one question's values as a form's fields, and back."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import Array, InlineTable

from intake.book.files.sheet import text_from
from intake.book.files.when_cell import WHEN, conditions
from intake.book.text import Text
from intake.screens.book_editor.shop_toml import put

CHECKLIST = "checklist.toml"
TEXTS = ("label", "how")
PLAIN = ("id", "step", "kind", "unit", "low", "high", "sound")
LISTS = ("families", "not_families")
REQUIRED = "required"
VALUES = "values"
CHOSEN = ("one", "several")


def text_keys(languages: Sequence[str]) -> list[str]:
    """`label`, `how` and the same in the shop's other languages."""
    others = [language for language in languages if language != "en"]
    return [*TEXTS, *(f"{key} [{language}]" for key in TEXTS for language in others)]


def shown(question: Mapping[str, Any], languages: Sequence[str]) -> dict[str, Any]:
    """A question's values as the fields show them."""
    found: dict[str, Any] = {key: str(question.get(key, "")) for key in (*PLAIN, *text_keys(languages))}
    found |= {key: list(question.get(key, ())) for key in LISTS}
    found[REQUIRED] = "yes" if question.get(REQUIRED) else "no"
    found[WHEN] = "; ".join(f"{id}: {_joined(values)}" for id, values in question.get(WHEN, {}).items())
    found[VALUES] = "\n".join(_line(value, languages) for value in question.get(VALUES, ()))
    return found


def write(
    question: Any, typed: Mapping[str, Any], before: Mapping[str, Any], languages: Sequence[str]
) -> None:
    """Put what was typed into the question; what was not touched stays as it is written.

    Raises SFeelError for a condition that cannot be read.
    """
    for key in (*PLAIN, *text_keys(languages)):
        put(question, key, before[key], typed[key], typed[key].strip())
    for key in LISTS:
        put(question, key, _joined(before[key]), _joined(typed[key]), typed[key])
    put(question, WHEN, before[WHEN], typed[WHEN], _inline(_conditions(typed[WHEN])))
    if typed[REQUIRED] != before[REQUIRED]:
        question[REQUIRED] = typed[REQUIRED] == "yes"
    named = typed["kind"] in CHOSEN
    put(question, VALUES, before[VALUES], typed[VALUES], _values(typed[VALUES], named, languages))


def appended(document: TOMLDocument) -> Any:
    """A new question at the end of the file."""
    new = tomlkit.table()
    document["question"].append(new)
    return new


def _joined(words: Sequence[Any] | str) -> str:
    return words if isinstance(words, str) else ", ".join(map(str, words))


def _line(value: Any, languages: Sequence[str]) -> str:
    """`id | label | label in the next language`, or a measure as it stands."""
    if not isinstance(value, Mapping):
        return str(value)
    label = text_from(dict(value), "label") or Text(en="")
    return " | ".join(
        [str(value.get("id", "")), *(label.get(language, "") for language in ("en", *_others(languages)))]
    )


def _others(languages: Sequence[str]) -> list[str]:
    return [language for language in languages if language != "en"]


def _values(typed: str, named: bool, languages: Sequence[str]) -> Array:
    array = tomlkit.array().multiline(True)
    for line in filter(None, map(str.strip, typed.splitlines())):
        array.append(_choice(line, languages) if named else line)
    return array


def _choice(line: str, languages: Sequence[str]) -> InlineTable:
    """`id | label | …`; a label alone makes its own id."""
    cells = [cell.strip() for cell in line.split("|")]
    id, *labels = cells if len(cells) > 1 else (as_id(cells[0]), cells[0])
    keys = ("label", *(f"label [{language}]" for language in _others(languages)))
    return _inline({"id": id} | {key: label for key, label in zip(keys, labels, strict=False) if label})


def as_id(words: str) -> str:
    """Words as an id: small letters, figures and underscores."""
    return re.sub(r"\W+", "_", words.lower()).strip("_")


def _inline(values: Mapping[str, Any]) -> InlineTable:
    table = tomlkit.inline_table()
    table.update(values)
    return table


def _conditions(typed: str) -> dict[str, list[str]]:
    return {
        id: [word.strip().strip('"') for word in tests.split(",") if word.strip()]
        for id, tests in conditions(typed)
    }
