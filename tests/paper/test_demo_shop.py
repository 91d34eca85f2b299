"""The demo shop's own walk-ins on paper: what the real stages hand over can be printed."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

from intake.book.model import Book
from intake.paper import (
    SIZES,
    DocumentOptions,
    bench_html,
    quote_html,
    receipt_html,
    render_quote_pdf,
    tag_html,
)
from intake.quoting.model import Quote, Walkin
from intake.quoting.quote import make_quote
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

DEMO = Path(__file__).resolve().parents[2] / "pricing_demo"
WALKINS = sorted((DEMO / "walkins").glob("*.toml"))
DETAILS = DocumentOptions("7", "https://shop.example/t/7", "Ada")
DAY = date(2026, 11, 25)
SVG = "{http://www.w3.org/2000/svg}"


@cache
def the_book() -> Book:
    return sample_book()


@cache
def case(path: Path) -> tuple[Quote, Walkin]:
    walkin = load_walkin(path)
    return make_quote(the_book(), walkin, DAY), walkin


@pytest.fixture
def demo() -> Book:
    return the_book()


@pytest.mark.parametrize(("number", "path"), list(enumerate(WALKINS)), ids=[path.stem for path in WALKINS])
def test_every_walkin_makes_a_page_with_all_its_jobs(demo: Book, number: int, path: Path) -> None:
    quote, walkin = case(path)
    language = demo.shop.languages[number % len(demo.shop.languages)]
    page = quote_html(quote, demo, walkin, replace(DETAILS, language=language))
    assert page.count('<span class="name">') == len({id for o in quote.offers.values() for id in o.jobs})


@pytest.mark.parametrize(("number", "path"), list(enumerate(WALKINS)), ids=[path.stem for path in WALKINS])
def test_every_document_is_well_formed_xml(demo: Book, number: int, path: Path) -> None:
    """So that the press reads it the quick way."""
    quote, walkin = case(path)
    for page in (
        quote_html(quote, demo, walkin, DETAILS),
        bench_html(quote, demo, walkin, DETAILS, tier="everything"),
        receipt_html(demo, walkin, DAY, replace(DETAILS, staff="Ada & Sons <bench>")),
        tag_html(demo, walkin, DAY, DETAILS, SIZES[number % len(SIZES)]),
    ):
        root = ElementTree.fromstring(page)
        assert root.tag == "html" and root.find("body") is not None
        assert all(each.tag != "svg" for each in root.iter()), "a drawing without its namespace is not drawn"
        assert root.find(f".//{SVG}svg") is not None


@pytest.mark.parametrize(("start", "most"), [("01-", 2), ("05-", 4), ("162-old-flat-top", 5)])
def test_the_first_page_holds_the_answer(demo: Book, start: str, most: int) -> None:
    """What, how much and when before the findings, and a middling case on few pages."""
    quote, walkin = case(next(path for path in WALKINS if path.name.startswith(start)))
    pages = [
        " ".join(page.extract_text().split())
        for page in PdfReader(io.BytesIO(render_quote_pdf(quote, demo, walkin, DETAILS))).pages
    ]
    assert len(pages) <= most
    for offer, _ in quote.distinct_offers():
        assert f"{offer.total:,.2f}" in pages[0] and f"{offer.ready:%B} {offer.ready.day}" in pages[0]
    assert "What we measured" not in pages[0].split("The work, in the order we do it")[0]
    assert "the consumer law of your place decides" in pages[-1] and "Your choice" in pages[-1]


@pytest.mark.parametrize("start", ["01-", "03-", "06-"])
def test_some_walkins_as_pdf(demo: Book, start: str) -> None:
    path = next(path for path in WALKINS if path.name.startswith(start))
    quote, walkin = case(path)
    pdf = PdfReader(io.BytesIO(render_quote_pdf(quote, demo, walkin, replace(DETAILS, paper="a4"))))
    text = " ".join(" ".join(page.extract_text() for page in pdf.pages).split())
    for job in quote.jobs:
        assert str(job.name) in text
    for offer in quote.offers.values():
        assert f"{offer.total:,.2f}" in text
