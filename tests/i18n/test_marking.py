"""Every sentence of a page goes through `_`, so that a catalogue can say it in another language."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest

from intake.config import PACKAGE, data_root

MARKS = {"_", "N_", "gettext", "pgettext", "ngettext"}
READ_OUT = {"alt", "aria-label", "placeholder", "title"}
"""Attributes that people read or hear."""
NAMES = re.compile(r"Tallyfret|tallyfret serve --lan")
"""The program's name, and a command."""
ATTRIBUTE = re.compile(r'[\w-]+="[^"]*"')
"""What a macro gives that stands in a tag elsewhere."""
CLASSES = r"\{#.*?#\}|\{% block page %\}.*?\{% endblock|\{% macro state\(.*?endmacro"
"""Comments, and the names of classes."""
WORD = re.compile(r"[^\W\d_]{2,}")
SENTENCE = re.compile(r"[A-Z“][^\n]*[a-z] [a-z“].*")
BESIDE_FIELDS = ("book/answer_kinds.py", "book/scalars.py", "book/plausible.py", "trade/units.py")
"""What is said beside a field of the wizard."""
FOR_OPERATORS = {
    "paper/formats.py",  # an assertion
    "services/calendar_file.py",  # the product's mark in a calendar file
    "services/current_book.py",  # said by the command line where the book cannot be read at the start
}


class PageText(HTMLParser):
    """The words that stand in a page itself, outside of its expressions."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [words for name, words in attrs if name in READ_OUT and words and WORD.search(words)]

    def handle_data(self, data: str) -> None:
        if WORD.search(NAMES.sub("", ATTRIBUTE.sub("", data))):
            self.found.append(data.strip())


def unmarked_in_page(template: str) -> list[str]:
    """Words of a template that no `_` has. A tag is a tag whatever conditions stand in it."""
    text = re.sub(CLASSES, "", template, flags=re.S)
    text = re.sub(r"\{\{.*?\}\}|\{%.*?%\}", "", text, flags=re.S)
    page = PageText()
    page.feed(text)
    page.close()
    return page.found


def unmarked_in_code(source: str) -> Iterator[str]:
    """Sentences of a module that no mark has; docstrings aside."""
    tree, aside = ast.parse(source), set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            aside |= {id(part) for part in ast.walk(node)} if name in MARKS else set()
        elif isinstance(node, ast.Expr):
            aside.add(id(node.value))
    for node in ast.walk(tree):
        words = node.value if isinstance(node, ast.Constant) and id(node) not in aside else None
        if isinstance(words, str) and SENTENCE.match(words):
            yield words


@pytest.mark.parametrize(
    "path", sorted((data_root() / "templates").rglob("*.html")), ids=lambda path: path.stem
)
def test_a_page_has_no_word_outside_of_a_message(path: Path) -> None:
    assert unmarked_in_page(path.read_text("utf-8")) == []


@pytest.mark.parametrize(
    "pattern", ["paper/**/*.py", "services/*.py", "web/*.py", "screens/**/*.py", *BESIDE_FIELDS]
)
def test_a_module_has_no_sentence_outside_of_a_message(pattern: str) -> None:
    files = [
        path
        for path in sorted(PACKAGE.glob(pattern))
        if path.relative_to(PACKAGE).as_posix() not in FOR_OPERATORS
    ]

    found = {path.name: said for path in files if (said := list(unmarked_in_code(path.read_text("utf-8"))))}

    assert files
    assert found == {}


@pytest.mark.parametrize(
    "template",
    [
        "<p>Total</p>",
        '<img alt="Front view">',
        '<p>{{ _("Total") }} of {{ n }}</p>',
        "<b{% if x %} id=a{% endif %}>Go on",
    ],
)
def test_an_unmarked_word_of_a_page_is_found(template: str) -> None:
    assert len(unmarked_in_page(template)) == 1


def test_an_unmarked_sentence_of_a_module_is_found() -> None:
    source = '"""Not this one."""\nerror = "Nothing was changed here."\nfine = _("All is well here.")\n'

    assert list(unmarked_in_code(source)) == ["Nothing was changed here."]
