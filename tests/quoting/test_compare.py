"""Two revisions of a quote, and what stands between them in words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest

from intake.book.model import Question
from intake.book.text import Text
from intake.config import demo_book
from intake.quoting.compare import differences
from intake.quoting.model import Discount
from intake.quoting.quote import make_quote, quote_assessment
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

WALKIN = demo_book() / "walkins" / "03-old-flat-top-neck-reset.toml"
DAY = date(2026, 11, 24)


@pytest.fixture
def book(make):
    jobs = [make.job("frets"), make.job("nut", 8, per=Text(en="piece"))]
    relief = Question("relief", "neck", "measure", Text(en="Relief", fr="Flèche"), Text(en=""), "in")
    words = Question("complaint_words", "player", "words", Text(en="In your words"), Text(en=""))
    rows = [("worn", "frets", "playable"), ("cut", "nut", "put_right", "nuts")]
    questions = {"relief": relief, "complaint_words": words}
    return make.book(jobs, rows, questions=questions, units={"relief": "in"})


def told(old, new, book, language="en"):
    return [text.in_(language) for text in differences(old, new, book)]


def test_equal_quotes_have_nothing_between_them(make, book):
    assert differences(make.quote(book, "worn"), make.quote(book, "worn"), book) == ()


def test_jobs_prices_and_answers_in_words(make, book):
    old = make.quote(book, "worn", facts={"relief": Fraction(8, 1000), "complaint_words": "buzz"})
    new = make.quote(book, "worn", "cut", facts={"relief": Fraction(12, 1000), "complaint_words": "rattle"})
    assert told(old, new, book) == [
        "Put right, Everything: $240.00 instead of $120.00, $120.00 more.",
        "Added: nut.",
        "Answer “Relief”: 0.012 in instead of 0.008 in.",
        "Answer “In your words” changed.",
    ]
    assert told(new, old, book)[:2] == [
        "Put right, Everything: $120.00 instead of $240.00, $120.00 less.",
        "No longer quoted: nut.",
    ]
    french = told(old, new, book, "fr")
    assert french[0] == (
        "Remis en état, Tout : 240,00\N{NO-BREAK SPACE}$US au lieu de 120,00\N{NO-BREAK SPACE}$US, "
        "soit 120,00\N{NO-BREAK SPACE}$US de plus."
    )
    assert french[2] == "Réponse « Flèche » : 0,012 in au lieu de 0,008 in."


def test_a_quantity_that_changed(make, book):
    old, new = (make.quote(book, "cut", facts={"nuts": Fraction(count)}) for count in (1, 3))
    assert "nut: 3 instead of 1." in told(old, new, book)


def test_a_day_that_moved(make, book):
    assessment = make.assessment("worn")
    old = quote_assessment(book, assessment, make.today)
    new = quote_assessment(book, assessment, make.today, Fraction(20))
    assert told(old, new, book) == [
        "Playable, Put right, Everything: ready on November 27, 2026, later than November 24, 2026."
    ]
    assert "sooner than" in told(new, old, book)[0]
    later = quote_assessment(book, assessment, make.today + timedelta(days=1))
    assert "ready on November 25, 2026" in told(old, later, book)[0]


def test_an_answer_that_was_given_and_one_that_was_withdrawn(make, book):
    known, unknown = make.quote(book, "worn", facts={"relief": Fraction(0)}), make.quote(book, "worn")
    assert "instead of not measured" in told(unknown, known, book)[0]
    assert told(known, unknown, book)[0].startswith("Answer “Relief”: not measured")


def test_a_changed_book_and_currency_are_named(make, book):
    other = replace(book, digest="other", shop=make.shop(currency="EUR"))
    found = told(make.quote(book, "worn"), make.quote(other, "worn"), other)
    assert found == [
        "Playable, Put right, Everything: €120.00; before it was $120.00.",
        "The shop’s prices or rules have changed in between.",
    ]


def test_a_discount_shows_as_a_lower_price(make, book):
    assessment = make.assessment("worn")
    old = quote_assessment(book, assessment, make.today)
    new = quote_assessment(book, assessment, make.today, adjust=Discount("regular", Decimal("0.1")))
    assert told(old, new, book) == [
        "Playable, Put right, Everything: $108.00 instead of $120.00, $12.00 less."
    ]


def test_a_real_ticket_measured_again():
    demo, walkin = sample_book(), load_walkin(WALKIN)
    again = replace(walkin, answers={**walkin.answers, "saddle_showing": "9/64 in", "worth": "5000"})
    found = differences(*(make_quote(demo, each, DAY) for each in (walkin, again)), demo)
    said = [str(text) for text in found]
    assert any(text.startswith("No longer quoted: ") and "neck" in text for text in said)
    assert any("9/64" in text and "4/64" in text for text in said)
    assert all(text["fr"] and "{" not in text["fr"] + text["en"] for text in found)
