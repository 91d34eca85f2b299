"""A quote as an HTML page, ready for the press."""

from __future__ import annotations

from datetime import date

from intake.book.model import Book
from intake.paper.formats import Formats
from intake.paper.options import DocumentOptions
from intake.paper.pages import formats_for, known_size, page, pictures
from intake.paper.view import printed_quote
from intake.quoting.model import Quote, Walkin


def quote_html(quote: Quote, book: Book, walkin: Walkin, options: DocumentOptions) -> str:
    """The page of one quote."""
    known_size(options.paper)
    formats = formats_for(book, options.language)
    _, view = formats.gettext, printed_quote(quote, book, walkin, formats, options.language)
    return page(
        "quote", book, options,
        view=view,
        taken=view.taken,
        folio=_("Quote {number} · good until {day}",
            number=options.number, day=formats.day(quote.valid_until)
        ),
        made_on=formats.day(quote.made_on),
        answer_by=formats.day(quote.answer_by),
        valid_until=formats.day(quote.valid_until),
        wanted_by=wanted(walkin, formats),
        photos=pictures(options.photos),
    )  # fmt: skip


def wanted(walkin: Walkin, formats: Formats) -> str:
    """The day the customer needs it, in words; empty where none was given."""
    try:
        return formats.day(date.fromisoformat(str(walkin.answers.get("wanted_by", ""))))
    except ValueError:
        return ""
