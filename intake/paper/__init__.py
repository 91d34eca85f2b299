"""Paper: quote, bench sheet, tag and receipt as PDF, with drawings computed from the instrument's numbers."""

from __future__ import annotations

import re

from intake.book.model import Book
from intake.i18n import translations
from intake.paper.bench import bench_html
from intake.paper.document import quote_html
from intake.paper.errors import BusyError, PangoMissingError, PaperError, TooSlowError
from intake.paper.options import DocumentOptions
from intake.paper.receipt import receipt_html
from intake.paper.tag import SIZES, tag_html
from intake.paper.ubl import quotation_xml
from intake.paper.worker import File, press
from intake.quoting.model import Quote, Walkin

__all__ = [
    "SIZES", "BusyError", "DocumentOptions", "PangoMissingError", "PaperError", "TooSlowError", "bench_html",
    "press", "quotation_xml", "quote_html", "receipt_html", "render_quote_pdf", "tag_html",
]  # fmt: skip


def render_quote_pdf(quote: Quote, book: Book, walkin: Walkin, options: DocumentOptions) -> bytes:
    """The quote as PDF/UA-1 bytes, with the same as a UBL file inside.

    Raises PaperError with a sentence that may be shown: of it PangoMissingError, TooSlowError and BusyError.
    """
    html = quote_html(quote, book, walkin, options)
    return press().render(html, _as_data(quote, book, walkin, options))


def _as_data(quote: Quote, book: Book, walkin: Walkin, options: DocumentOptions) -> list[File]:
    """What the shop would do, as a file beside the words; none where there is nothing to do."""
    if not quote.offers["put_right"].jobs:
        return []
    data = quotation_xml(
        quote, book, walkin, number=options.number, revision=options.revision, language=options.language
    )
    name = re.sub(r"[^A-Za-z0-9._-]+", "-", options.number)
    said = translations(options.language).gettext("This quote as data (UBL 2.1 Quotation)")
    return [File(f"quotation-{name}.xml", said, quote.made_on.isoformat(), data.decode())]
