"""Tag and receipt: made from what was taken down, before there is any quote."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date
from types import SimpleNamespace
from typing import Any

import pytest
from pypdf import PdfReader

from intake.book.model import Book
from intake.paper import SIZES, DocumentOptions, PaperError, press, receipt_html, tag_html
from intake.quoting.model import Walkin

URL = "https://shop.example/t/0192f0c1"
USUAL = DocumentOptions("1042", URL, "Ada")
DAY = date(2026, 11, 25)
ANSWERS = {
    "customer_name": "Božena Łódź", "customer_phone": "555 0188", "family": "steel",
    "accessories": ["case", "strap"], "complaints": ["buzz"],
    "pins": [{"part": "top", "kind": "crack", "state": "open", "size": "5 in"}],
}  # fmt: skip
POINTS = {"62x100": (176, 283), "4x6": (288, 432), "letter": (612, 792), "a4": (595, 842)}
LONG = "Maximiliana Wolkenstein-Dvořáková de la Fontaine " * 6


def words(data: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages).split())


@pytest.mark.parametrize("size", SIZES)
def test_a_tag_is_one_page_of_its_size_however_long_the_words(stocked: Book, size: str) -> None:
    walkin = Walkin({**ANSWERS, "customer_name": LONG, "maker_words": LONG})
    data = press().render(tag_html(stocked, walkin, DAY, DocumentOptions("1042-117", URL), size))
    (page,) = PdfReader(io.BytesIO(data)).pages
    assert (round(page.mediabox.width), round(page.mediabox.height)) == POINTS[size]


def test_a_tag_says_whose_it_is_and_what_came_with_it(stocked: Book) -> None:
    text = words(press().render(tag_html(stocked, Walkin(ANSWERS), DAY, USUAL)))
    for expected in (
        "1042",
        "Božena Łódź",
        "Flat top",
        "Left with it: Case, Strap",
        "In on November 25, 2026",
    ):
        assert expected in text, expected


def test_the_number_can_be_read_from_a_metre(stocked: Book) -> None:
    """A two-hundredth of the distance, 5 mm, is the least height of letters: common practice, no source."""
    sizes: list[float] = []
    data = press().render(tag_html(stocked, Walkin(ANSWERS), DAY, USUAL))
    page = PdfReader(io.BytesIO(data)).pages[0]
    page.extract_text(
        visitor_text=lambda text, cm, tm, font, size: (
            sizes.append(abs(size * tm[0] * cm[0])) if "1042" in text else None
        )
    )
    cap_height = 0.7 * 25.4 / 72  # of Barlow Condensed, in mm for each point of size
    assert max(sizes) * cap_height > 5


def test_only_a_sheet_is_to_be_cut(stocked: Book) -> None:
    for size in SIZES:
        page = tag_html(stocked, Walkin(ANSWERS), DAY, USUAL, size)
        assert ("Cut along the line" in page) == (size in ("letter", "a4"))


def test_other_labels_are_refused(stocked: Book) -> None:
    with pytest.raises(PaperError, match="a3"):
        tag_html(stocked, Walkin({}), DAY, USUAL, "a3")


def receipt(book: Book, walkin: Walkin, **more: Any) -> str:
    return receipt_html(book, walkin, DAY, replace(USUAL, **more))


def test_a_receipt_says_what_was_handed_in_and_how_it_was(stocked: Book) -> None:
    walkin = Walkin(ANSWERS, frozenset({"neck", "frets"}), frozenset({"relief"}))
    text = words(press().render(receipt(stocked, walkin, paper="a4", photos=[("The crack", b"no picture")])))
    for expected in (
        "Receipt 1042", "November 25, 2026 by Ada", "Božena Łódź", "Case, Strap", "Top, crack, open, 5 in",
        "Not assessed: Neck, Frets. Nothing is said about the state of these.",
        "Judged by eye, not measured: Neck (Relief)", "The crack", "We store instruments for 60 days.",
        "For Harbour Lane Strings", "Date",
    ):  # fmt: skip
        assert expected in text, expected


def test_no_mark_is_not_called_sound(stocked: Book) -> None:
    answers = {key: value for key, value in ANSWERS.items() if key != "pins"}
    assert "No place was marked." in receipt(stocked, Walkin(answers))
    unseen = receipt(stocked, Walkin(answers, frozenset({"cracks-and-braces"})))
    assert "No place was marked." not in unseen and "The body was not looked over" in unseen


def test_answers_that_cannot_be_read_are_left_out(stocked: Book) -> None:
    page = receipt(stocked, Walkin({**ANSWERS, "relief": "a lot", "family": "zither", "unheard_of": "x"}))
    assert "Božena Łódź" in page and "zither" not in page


def test_condition_lists_choices_and_not_measures(stocked: Book) -> None:
    page = receipt(
        stocked, Walkin({**ANSWERS, "bridge_state": "cracked", "relief": "0.008 in"}), language="fr"
    )
    noted = page[page.index("État constaté") :]
    assert "Bridge state" in noted and "Cracked" in noted and "0,008" not in noted


@pytest.fixture
def stocked(book: Book, make: SimpleNamespace) -> Book:
    """A book that also asks what was left, and in which state the bridge is."""
    more = {
        "customer_name": make.question("customer_name", "customer", "Name", "words", unit=""),
        "customer_phone": make.question("customer_phone", "customer", "Telephone", "words", unit=""),
        "maker_words": make.question("maker_words", "instrument", "Maker", "words", unit=""),
        "accessories": make.question(
            "accessories", "customer", "Left with it", "several", unit="",
            values=make.choices(case="Case", strap="Strap"),
        ),
        "bridge_state": make.question(
            "bridge_state", "top-and-bridge", "Bridge state", "one", unit="",
            values=make.choices(sound="Sound", cracked="Cracked"),
        ),
    }  # fmt: skip
    family = replace(book.questions["family"], values=make.choices(steel="Flat top"))
    return replace(book, questions={**book.questions, **more, "family": family})
