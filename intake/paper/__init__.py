"""Paper: quote, bench sheet, tag and receipt as PDF, with drawings computed from the instrument's numbers."""

from __future__ import annotations

import re
from datetime import date

from intake.book.model import Book, Tier
from intake.i18n.paper_texts import catalogue
from intake.paper.bench import bench_html
from intake.paper.document import quote_html
from intake.paper.errors import BusyError, PangoMissingError, PaperError, TooSlowError
from intake.paper.pages import Pictures
from intake.paper.receipt import receipt_html
from intake.paper.tag import SIZES, tag_html
from intake.paper.ubl import quotation_xml
from intake.paper.worker import File, press
from intake.quoting.model import Offer, Quote, Walkin

__all__ = [
    "SIZES", "BusyError", "PangoMissingError", "PaperError", "TooSlowError", "bench_html", "press",
    "quotation_xml", "quote_html", "receipt_html", "render_bench_sheet", "render_quote_pdf", "render_receipt",
    "render_tag", "tag_html",
]  # fmt: skip


def render_quote_pdf(
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
) -> bytes:
    """The quote as PDF/UA-1 bytes, with the same as a UBL file inside.

    `url` is the ticket's address (without a token) and is printed as a QR code; `paper` is `letter` or
    `a4`; `photos` are captions and the bytes of JPEG, PNG or WebP files; `staff` may be empty. Raises
    PaperError with a sentence that may be shown: of it PangoMissing, TooSlow and Busy; so do the others.
    """
    html = quote_html(
        quote, book, walkin,
        number=number, staff=staff, url=url, paper=paper, language=language, photos=photos, revision=revision,
    )  # fmt: skip
    return press().render(html, _as_data(quote, book, walkin, number, revision, language))


def _as_data(
    quote: Quote, book: Book, walkin: Walkin, number: str, revision: int | None, language: str
) -> list[File]:
    """What the shop would do, as a file beside the words; none where there is nothing to do."""
    if not quote.offers["put_right"].jobs:
        return []
    data = quotation_xml(quote, book, walkin, number=number, revision=revision, language=language)
    name = re.sub(r"[^A-Za-z0-9._-]+", "-", number)
    said = catalogue(language).gettext("This quote as data (UBL 2.1 Quotation)")
    return [File(f"quotation-{name}.xml", said, quote.made_on.isoformat(), data.decode())]


def render_bench_sheet(
    quote: Quote,
    book: Book,
    walkin: Walkin,
    *,
    number: str,
    staff: str,
    url: str,
    tier: Tier = "put_right",
    offer: Offer | None = None,
    paper: str = "letter",
    language: str = "en",
    revision: int | None = None,
) -> bytes:
    """What the bench does, in order: the offer of that `tier`, or `offer` where one was put together."""
    html = bench_html(
        quote, book, walkin,
        number=number, staff=staff, url=url, tier=tier, offer=offer, paper=paper, language=language,
        revision=revision,
    )  # fmt: skip
    return press().render(html)


def render_tag(
    book: Book,
    walkin: Walkin,
    *,
    number: str,
    url: str,
    taken_on: date,
    size: str = "62x100",
    language: str = "en",
) -> bytes:
    """The tag of one instrument; `size` is one of `SIZES`: a label in mm or inches, or a sheet to cut."""
    html = tag_html(book, walkin, number=number, url=url, taken_on=taken_on, size=size, language=language)
    return press().render(html)


def render_receipt(
    book: Book,
    walkin: Walkin,
    *,
    number: str,
    staff: str,
    url: str,
    taken_on: date,
    paper: str = "letter",
    language: str = "en",
    photos: Pictures = (),
) -> bytes:
    """What was handed in, and in which state, with a line to sign. Needs no quote."""
    html = receipt_html(
        book, walkin,
        number=number, staff=staff, url=url, taken_on=taken_on, paper=paper, language=language, photos=photos,
    )  # fmt: skip
    return press().render(html)
