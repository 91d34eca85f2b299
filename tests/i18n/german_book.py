"""The demo shop's book with German columns beside its French ones, from a catalogue of the book's texts."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any

import tomlkit
from babel.messages.pofile import read_po

from intake.config import demo_book

CATALOGUE = Path(__file__).with_name("german_book.po")
FRENCH, GERMAN = " [fr]", " [de]"
MISSING = "UNTRANSLATED:"
Translate = Callable[[str], str]


@lru_cache
def german_texts() -> dict[str, str]:
    """English → German, of the book's texts."""
    with CATALOGUE.open("rb") as file:
        return {str(m.id): str(m.string) for m in read_po(file, locale="de") if m.id and m.string}


def german(text: str) -> str:
    """The German of a text of the book, "" without one."""
    return german_texts().get(text, "")


def german_or_marked(text: str) -> str:
    """The German of a text of the book; one without is marked, so that a page shows it."""
    return german(text) or (MISSING + text if text else "")


def make_german_book(folder: Path, translate: Translate) -> Path:
    """A copy of the demo's book that lists German."""
    shutil.copytree(demo_book(), folder)
    for path in folder.rglob("*.csv"):
        _translate_csv(path, translate)
    for name in ("checklist.toml", "shop.toml"):
        document = tomlkit.parse((folder / name).read_text("utf-8"))
        _translate_toml(document, translate)
        if name == "shop.toml":
            document["languages"] = ["en", "fr", "de"]
        (folder / name).write_text(tomlkit.dumps(document), "utf-8")
    return folder


def _translate_csv(path: Path, translate: Translate) -> None:
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    head = next((row for row in rows if any(cell.endswith(FRENCH) for cell in row)), None)
    if head is None:
        return
    columns = [head.index(cell.removesuffix(FRENCH)) for cell in head if cell.endswith(FRENCH)]
    names = [head[column] for column in columns]
    for row in rows[rows.index(head) + 1 :]:
        if len(row) == len(head):
            row.extend(translate(row[column].strip()) for column in columns)
    head.extend(name + GERMAN for name in names)
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows(rows)


def _translate_toml(table: Any, translate: Translate) -> None:
    if isinstance(table, list):
        for item in table:
            _translate_toml(item, translate)
    elif isinstance(table, dict):
        for key in list(table):
            name = key.removesuffix(FRENCH)
            if name != key and (words := translate(str(table[name]).strip())):
                table[name + GERMAN] = words
            _translate_toml(table[key], translate)
