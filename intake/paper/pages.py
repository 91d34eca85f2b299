"""What every document needs to become an HTML page. No file but our own templates is read here."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from intake.book.model import Book
from intake.i18n import _, translations
from intake.i18n.formats import locale_for
from intake.i18n.templates import environment
from intake.paper.errors import PaperError
from intake.paper.formats import Formats
from intake.paper.options import DocumentOptions, Pictures
from intake.qr import qr_svg

PAPERS = ("letter", "a4")
MAGIC = {b"\xff\xd8\xff": "jpeg", b"\x89PNG\r\n\x1a\n": "png", b"RIFF": "webp"}


@dataclass(frozen=True)
class Photo:
    """A picture as a `data:` address; `source` is empty for what is none."""

    caption: str
    source: str


def formats_for(book: Book, language: str) -> Formats:
    """How this shop writes money, and this language everything else."""
    shop = book.shop
    return Formats(
        locale_for(language, shop.locale), shop.locale, shop.currency, translations(language), shop.measures
    )


def page(template: str, book: Book, options: DocumentOptions, **context: Any) -> str:
    """A template of `templates/paper` filled in, with shop, options and, where there is a `url`, its code."""
    title = translations(options.language).gettext("Code for a phone’s camera: {url}", url=options.url)
    code = qr_svg(options.url, title) if options.url else ""
    return environment(options.language).get_template(f"paper/{template}.html").render(
        shop=book.shop, qr=code, **_of(options), **context
    )  # fmt: skip


def _of(options: DocumentOptions) -> dict[str, Any]:
    names = ("language", "paper", "url", "number", "staff", "revision")
    return {name: getattr(options, name) for name in names}


def known_size(paper: str, sizes: Sequence[str] = PAPERS) -> None:
    """Raises PaperError for a size that is not one of `sizes`."""
    if paper not in sizes:
        known = ", ".join(sizes)
        raise PaperError(_("There is paper of the sizes {known}, not “{paper}”.", known=known, paper=paper))


def pictures(photos: Pictures) -> list[Photo]:
    """Captions and image bytes as the templates show them."""
    return [_photo(caption, data) for caption, data in photos]


def _photo(caption: str, data: bytes) -> Photo:
    kind = next((kind for magic, kind in MAGIC.items() if data.startswith(magic)), "")
    source = f"data:image/{kind};base64,{base64.b64encode(data).decode()}" if kind else ""
    return Photo(caption, source)
