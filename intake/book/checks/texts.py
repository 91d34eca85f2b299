"""Texts: a language that the shop speaks and the book does not, and sentences too long for their place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from intake.book.checks.names import texts_of
from intake.book.model import Book
from intake.book.problems import Problem
from intake.book.text import Text
from intake.i18n import has_catalogue

UNTRANSLATED = "This text is missing in a language of the shop."
MOST_NAME = 60
MOST_SENTENCE = 300


def text_problems(book: Book) -> list[Problem]:
    """Missing translations of what customers read, and text that does not fit."""
    found = [*_of_tables(book), *_of_named(book)]
    rest = [problem for problem in found if problem.sentence != UNTRANSLATED]
    return [*_of_languages(book), *rest, *_summed(found)]


def _of_languages(book: Book) -> Iterator[Problem]:
    """Languages in which the program itself says its sentences in English."""
    for language in dict.fromkeys((*book.shop.languages, book.shop.staff_language)):
        if not has_catalogue(language):
            sentence = f"There is no translation into “{language}”: what the book does not say is in English."
            yield Problem("shop.toml", None, "languages", sentence)


def _summed(found: list[Problem]) -> list[Problem]:
    """What is not translated, in one line for each file and language; it names the first place."""
    missing: dict[tuple[str, str], list[Problem]] = {}
    for problem in found:
        if problem.sentence == UNTRANSLATED:
            missing.setdefault((problem.file, problem.column.partition("[")[2]), []).append(problem)
    return [
        replace(first, sentence=f"{UNTRANSLATED} So are {len(rest)} more of this file.") if rest else first
        for first, *rest in missing.values()
    ]


def _of_tables(book: Book) -> Iterator[Problem]:
    for table in (*book.tables.values(), book.factors):
        for row, column, words in texts_of(table):
            if "{" in words and table is book.factors:
                yield Problem(table.file, row.line, column, "Nothing is filled in here: no braces.")
            if len(words) > MOST_SENTENCE:
                yield Problem(table.file, row.line, column, _too_long(words, MOST_SENTENCE))
        for row in table.rows:
            for name, value in row.outputs.items():
                if isinstance(value, Text):
                    for language in _missing(value, book):
                        yield Problem(table.file, row.line, f"then {name} [{language}]", UNTRANSLATED)


def _of_named(book: Book) -> Iterator[Problem]:
    for file, id, column, text, most in (*_of_lists(book), *_of_checklist(book), *_of_shop(book)):
        row = book.places.get((file, id))
        for language, words in text.items():
            if "{" in words and file != "checklist.toml":
                yield Problem(file, row, _heading(column, language), "Nothing is filled in here: no braces.")
            if len(words) > most:
                yield Problem(file, row, _heading(column, language), _too_long(words, most))
        for language in _missing(text, book):
            yield Problem(file, row, _heading(column, language), UNTRANSLATED)


Named = Iterator[tuple[str, str, str, Text, int]]


def _of_lists(book: Book) -> Named:
    for job in book.jobs.values():
        yield "jobs.csv", job.id, "name", job.name, MOST_NAME
        yield "jobs.csv", job.id, "per", job.per, MOST_NAME
        if job.caution:
            yield "jobs.csv", job.id, "caution", job.caution, MOST_SENTENCE
    for operation in book.operations.values():
        yield "operations.csv", operation.id, "name", operation.name, MOST_NAME
    for part in book.parts.values():
        yield "parts.csv", part.id, "name", part.name, MOST_NAME


def _of_checklist(book: Book) -> Named:
    """What the quote prints of the checklist: steps, labels and choices, but not how to measure."""
    file = "checklist.toml"
    for step in book.steps:
        yield file, step.id, "name", step.name, MOST_NAME
    for question in book.questions.values():
        yield file, question.id, "label", question.label, MOST_NAME
        lists = {"parts": question.parts, "kinds": question.kinds, "states": question.states}
        if question.kind in ("one", "several", "part_states"):
            lists["values"] = question.values
        for column, choices in lists.items():
            for choice in choices:
                yield file, question.id, column, choice.label, MOST_NAME


def _of_shop(book: Book) -> Named:
    for number, tax in enumerate(book.shop.taxes, 1):
        yield "shop.toml", "", f"tax {number} name", tax.name, MOST_NAME
    for number, term in enumerate(book.shop.terms, 1):
        yield "shop.toml", "", f"terms {number}", term, MOST_SENTENCE
    yield "shop.toml", "", "note", book.shop.note, MOST_SENTENCE


def _heading(column: str, language: str) -> str:
    return column if language == "en" else f"{column} [{language}]"


def _missing(text: Text, book: Book) -> list[str]:
    if not text.get("en"):
        return []
    return [language for language in book.shop.languages if not text.get(language)]


def _too_long(words: str, most: int) -> str:
    return f"{len(words)} characters do not fit; {most} is the most: “{words[:40]}…”."
