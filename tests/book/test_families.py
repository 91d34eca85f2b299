"""A family is rows of the book: the code names none."""

from __future__ import annotations

import re
from pathlib import Path

from intake.book.files.families import FAMILIES, TUNINGS, usual
from intake.book.files.load import load_book
from intake.config import demo_book

ROOT = Path(__file__).parents[2]
DRAWINGS = ("intake/book/model.py",)


def test_no_code_names_a_family() -> None:
    """But for the names of the drawings, which families.csv has in `drawn_as`."""
    ids = {row["family"] for row in usual(FAMILIES)}
    quoted = re.compile(rf"[\"']({'|'.join(ids - {'bass'})})[\"']")
    files = [
        *(ROOT / "intake").rglob("*.py"),
        *(ROOT / "templates").rglob("*.html"),
        *(ROOT / "static/js").glob("*.js"),
    ]

    naming = [
        (path.relative_to(ROOT).as_posix(), match[0])
        for path in files
        for match in quoted.finditer(path.read_text("utf-8"))
        if path.relative_to(ROOT).as_posix() not in DRAWINGS
    ]

    assert naming == []


def test_a_book_of_before_has_the_usual_families_and_tunings() -> None:
    book = load_book(Path(__file__).parent / "minimal")

    assert book.beside["families_table"] == usual(FAMILIES)
    assert book.beside["tunings_table"] == usual(TUNINGS)


def test_the_usual_ones_are_those_of_the_demo_shop() -> None:
    for file in (FAMILIES, TUNINGS):
        assert (ROOT / "intake/book/files/usual" / file).read_text("utf-8") == (demo_book() / file).read_text(
            "utf-8"
        )
