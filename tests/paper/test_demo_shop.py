"""The demo shop's own walk-ins on paper: what the real stages hand over can be printed."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path

import pytest
from pypdf import PdfReader

from intake.book.load import load_book
from intake.book.model import Book
from intake.paper import quote_html, render_quote_pdf
from intake.quoting.quote import make_quote
from intake.quoting.walkin import load_walkin

DEMO = Path(__file__).resolve().parents[2] / "pricing_demo"
WALKINS = sorted((DEMO / "walkins").glob("*.toml"))
DETAILS = {"number": "7", "staff": "Ada", "url": "https://shop.example/t/7"}


@pytest.fixture(scope="module")
def demo() -> Book:
    return load_book(DEMO)


@pytest.mark.parametrize(("number", "path"), list(enumerate(WALKINS)), ids=[path.stem for path in WALKINS])
def test_every_walkin_makes_a_page_with_all_its_jobs(demo: Book, number: int, path: Path) -> None:
    walkin = load_walkin(path)
    quote = make_quote(demo, walkin, date(2026, 11, 25))
    language = demo.shop.languages[number % len(demo.shop.languages)]
    page = quote_html(quote, demo, walkin, language=language, **DETAILS)
    assert page.count('<span class="name">') == len({id for o in quote.offers.values() for id in o.jobs})


@pytest.mark.parametrize("start", ["01-", "03-", "06-"])
def test_some_walkins_as_pdf(demo: Book, start: str) -> None:
    path = next(path for path in WALKINS if path.name.startswith(start))
    walkin = load_walkin(path)
    quote = make_quote(demo, walkin, date(2026, 11, 25))
    pdf = PdfReader(io.BytesIO(render_quote_pdf(quote, demo, walkin, paper="a4", **DETAILS)))
    text = " ".join(" ".join(page.extract_text() for page in pdf.pages).split())
    for job in quote.jobs:
        assert str(job.name) in text
    for offer in quote.offers.values():
        assert f"{offer.total:,.2f}" in text
