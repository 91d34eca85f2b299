"""A quote as an HTML page, ready for the press. No file but our own templates is read here."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import segno
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from intake.book.model import Book
from intake.paper.errors import PaperError
from intake.paper.formats import Formats, locale_for
from intake.paper.resources import folder
from intake.paper.texts import catalogue
from intake.paper.view import quote_view
from intake.quoting.model import Quote, Walkin

PAPERS = ("letter", "a4")
MAGIC = {b"\xff\xd8\xff": "jpeg", b"\x89PNG\r\n\x1a\n": "png", b"RIFF": "webp"}


@dataclass(frozen=True)
class Photo:
    """A picture as a `data:` address; `source` is empty for what is none."""

    caption: str
    source: str


@lru_cache
def environment(language: str) -> Environment:
    """Templates with autoescape and the texts of that language."""
    env = Environment(
        loader=FileSystemLoader(folder("templates")),
        autoescape=True,
        undefined=StrictUndefined,
        extensions=["jinja2.ext.i18n"],
        trim_blocks=True,
        lstrip_blocks=True,
    )
    # Added by the extension, so unknown to the type of Environment.
    env.install_gettext_translations(catalogue(language), newstyle=False)  # type: ignore[attr-defined]
    return env


def formats_for(book: Book, language: str) -> Formats:
    """How this shop writes money, and this language everything else."""
    shop = book.shop
    return Formats(locale_for(language, shop.locale), shop.locale, shop.currency, catalogue(language))


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
    photos: Sequence[tuple[str, bytes]] = (),
) -> str:
    """The page of one quote; see `render_quote_pdf` for the arguments."""
    if paper not in PAPERS:
        raise PaperError(f"There is paper of the sizes {' and '.join(PAPERS)}, not “{paper}”.")
    formats = formats_for(book, language)
    _ = formats.say
    folio = _("Quote {number} · good until {day}").format(number=number, day=formats.day(quote.valid_until))
    return environment(language).get_template("paper/quote.html").render(
        view=quote_view(quote, book, walkin, formats, language),
        shop=book.shop,
        number=number,
        staff=staff,
        url=url,
        qr=qr_code(url, _("Code for a phone’s camera: {url}").format(url=url)),
        folio=folio,
        paper=paper,
        language=language,
        made_on=formats.day(quote.made_on),
        answer_by=formats.day(quote.answer_by),
        valid_until=formats.day(quote.valid_until),
        wanted_by=_wanted(walkin, formats),
        photos=[_photo(caption, data) for caption, data in photos],
    )  # fmt: skip


def qr_code(url: str, title: str) -> Markup:
    """A QR code of `url` as inline SVG with its quiet zone."""
    code = segno.make(url, micro=False, error="m")
    return Markup(code.svg_inline(omitsize=True, border=4, title=title))


def _wanted(walkin: Walkin, formats: Formats) -> str:
    try:
        return formats.day(date.fromisoformat(str(walkin.answers.get("wanted_by", ""))))
    except ValueError:
        return ""


def _photo(caption: str, data: bytes) -> Photo:
    kind = next((kind for magic, kind in MAGIC.items() if data.startswith(magic)), "")
    source = f"data:image/{kind};base64,{base64.b64encode(data).decode()}" if kind else ""
    return Photo(caption, source)
