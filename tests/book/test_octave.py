"""A metric shop in euros with an octave mandolin: its book is edited, not programmed."""

from __future__ import annotations

import re
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from intake.book.checks.run import check_book
from intake.book.files.load import load_book
from intake.book.model import Book
from intake.paper import DocumentOptions, quote_html
from intake.quoting.model import Quote, Walkin
from intake.quoting.quote import make_quote
from intake.quoting.to_json import quote_json
from intake.quoting.walkin import load_walkin

from .octave import HERE, NEW, make

PRINTED = DocumentOptions("7", "tel:5550142", paper="a4", language="fr")


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    return load_book(make(tmp_path_factory.mktemp("octave") / "book"))


@pytest.fixture(scope="module")
def walkin() -> Walkin:
    return load_walkin(HERE / "walkin.toml")


@pytest.fixture(scope="module")
def quote(book: Book, walkin: Walkin) -> Quote:
    return make_quote(book, walkin, date(2026, 11, 24))


def test_the_checker_has_nothing_to_say(book: Book) -> None:
    assert [str(problem) for problem in check_book(book)] == []


def test_numbers_without_a_unit_are_millimetres_and_degrees_celsius(quote: Quote) -> None:
    facts = quote.assessment.facts

    assert quote.assessment.problems == {}
    assert facts["action_bass_12"] == Fraction("3.4") * Fraction(5, 127)
    assert facts["room_temp"] == Fraction("69.8")
    assert facts["scale_length"] == Fraction(520) * Fraction(5, 127)


def test_the_new_family_is_asked_judged_and_quoted(quote: Quote) -> None:
    told = quote_json(quote)

    findings = {finding["id"] for finding in told["findings"]}

    assert {"action_high_floating", "feet_gap"} <= findings
    assert 100 < quote.assessment.readings["tension_total"].value < 250
    assert told["currency"] == "EUR" and {job["id"] for job in told["jobs"]} >= {
        "floating-bridge-fit",
        "setup",
    }


def test_nothing_on_paper_is_in_inches_or_fahrenheit(quote: Quote, book: Book, walkin: Walkin) -> None:
    """A customer read “69,8 °F; Saddle to pins 0,394 in”."""
    html = quote_html(quote, book, walkin, PRINTED)

    text = re.sub(r"<style.*?</style>|<[^>]+>", " ", html, flags=re.DOTALL)

    assert not re.findall(r"\d (?:in|po)\b|°F|/64|pouce", text)
    assert "3,4 mm" in text and "21 °C" in text and "€" in text


def test_no_finding_is_in_inches(quote: Quote) -> None:
    says = [words for finding in quote.assessment.findings for words in finding.says.values()]

    assert not [words for words in says if re.search(r"\{|/64|\d in\b|°F", words)]


def test_no_other_instrument_is_drawn_for_a_family_without_a_drawing(tmp_path: Path, walkin: Walkin) -> None:
    folder = make(tmp_path / "book")
    families = folder / "families.csv"
    families.write_text(families.read_text("utf-8").replace(f"{NEW},mandolin,", f"{NEW},,"), "utf-8")
    plain = load_book(folder)
    made = make_quote(plain, walkin, date(2026, 11, 24))

    html = quote_html(made, plain, walkin, PRINTED)

    assert 'class="pin"' not in html
    assert plain.questions["family"].values[-1].drawn_as == "banjo"
    (choice,) = [choice for choice in plain.questions["family"].values if choice.id == NEW]
    assert choice.drawn_as == ""
