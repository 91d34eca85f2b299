"""The tag that hangs on the instrument or sticks on its case: read from a metre, scanned from near."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from intake.book.answers import read_answers
from intake.book.model import Book
from intake.paper.intake_summary import IntakeSummary
from intake.paper.options import DocumentOptions
from intake.paper.pages import PAPERS, formats_for, known_size, page
from intake.quoting.model import Walkin

# A common roll of labels (width by length), a common parcel label, and a sheet with a line to cut along.
SIZES = ("62x100", "4x6", *PAPERS)
# From how many letters on a name or a number is set smaller, so that a word of it stays on its line.
LONG, VERY_LONG = 15, 26
# What there is room for; the rest of it stands on the ticket.
MOST_NAME, MOST_WORDS = 70, 60


def tag_html(
    book: Book, walkin: Walkin, taken_on: date, options: DocumentOptions, size: str = "62x100"
) -> str:
    """The tag of one instrument; `size` is one of `SIZES`: a label in mm or inches, or a sheet to cut."""
    known_size(size, SIZES)
    formats = formats_for(book, options.language)
    taken = IntakeSummary(
        book, walkin.answers, read_answers(book, walkin.answers).values, formats, options.language
    )
    name = next(iter(taken.words("customer_name")), formats.gettext("No name given"))
    return page(
        "tag", book, replace(options, paper=size),
        name=_cut(name, MOST_NAME),
        long=_long(name),
        long_number=_long(options.number, 4, 7),
        what=_cut(", ".join([*taken.chosen("family"), *taken.words("maker_words")]), MOST_WORDS),
        left_with=_cut(taken.left_with(), MOST_WORDS),
        taken_on=formats.day(taken_on),
        cut=size in PAPERS,
    )  # fmt: skip


def _long(words: str, some: int = LONG, many: int = VERY_LONG) -> str:
    if len(words) <= some:
        return "short"
    return "long" if len(words) <= many else "very-long"


def _cut(words: str, most: int) -> str:
    return words if len(words) <= most else words[: most - 1].rstrip() + "…"
