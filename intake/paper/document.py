"""A quote as an HTML page, ready for the press."""

from __future__ import annotations

from datetime import date

from intake.book.model import Book
from intake.paper.formats import Formats
from intake.paper.pages import Pictures, formats_for, known_size, page, pictures
from intake.paper.view import printed_quote
from intake.quoting.model import Quote, Walkin


def quote_html(
    quote: Quote,
    book: Book,
    walkin: Walkin,
    *,
    number: str,
    staff: str,
    url: str,
    paper: str = "letter",
    language: str = "en",
    photos: Pictures = (),
    revision: int | None = None,
) -> str:
    """The page of one quote; see `render_quote_pdf` for the arguments."""
    known_size(paper)
    formats = formats_for(book, language)
    _, view = formats.say, printed_quote(quote, book, walkin, formats, language)
    return page(
        "quote", book, language, paper, url,
        view=view,
        taken=view.taken,
        number=number,
        staff=staff,
        revision=revision,
        folio=_("Quote {number} · good until {day}").format(
            number=number, day=formats.day(quote.valid_until)
        ),
        made_on=formats.day(quote.made_on),
        answer_by=formats.day(quote.answer_by),
        valid_until=formats.day(quote.valid_until),
        wanted_by=wanted(walkin, formats),
        photos=pictures(photos),
    )  # fmt: skip


def wanted(walkin: Walkin, formats: Formats) -> str:
    """The day the customer needs it, in words; empty where none was given."""
    try:
        return formats.day(date.fromisoformat(str(walkin.answers.get("wanted_by", ""))))
    except ValueError:
        return ""
