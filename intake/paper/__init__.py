"""Paper: a frozen quote as a PDF, with drawings computed from the instrument's own numbers."""

from __future__ import annotations

from collections.abc import Sequence

from intake.book.model import Book
from intake.paper.document import quote_html
from intake.paper.errors import Busy, PangoMissing, PaperError, TooSlow
from intake.paper.worker import press
from intake.quoting.model import Quote, Walkin

__all__ = ["Busy", "PangoMissing", "PaperError", "TooSlow", "press", "quote_html", "render_quote_pdf"]


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
    photos: Sequence[tuple[str, bytes]] = (),
) -> bytes:
    """The quote as PDF/UA-1 bytes.

    `url` is the ticket's address (without a token) and is printed as a QR code; `paper` is `letter` or
    `a4`; `photos` are captions and the bytes of JPEG, PNG or WebP files. Raises PaperError with a
    sentence that may be shown: of it PangoMissing, TooSlow and Busy.
    """
    html = quote_html(
        quote, book, walkin,
        number=number, staff=staff, url=url, paper=paper, language=language, photos=photos,
    )  # fmt: skip
    return press().render(html)
