"""A metric shop in euros with an octave mandolin: its book is edited, not programmed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from flask.testing import FlaskClient
from werkzeug.datastructures import MultiDict

from intake.book.answers import read_answers, to_fields
from intake.book.checks.leaps import leap_problems
from intake.book.checks.run import check_book
from intake.book.files.load import load_book
from intake.book.files.metric import ASKED
from intake.book.model import Book
from intake.config import Settings
from intake.mail.settings import MailSettings
from intake.paper import DocumentOptions, quote_html
from intake.quoting.model import Quote, Walkin
from intake.quoting.quote import make_quote
from intake.quoting.to_json import quote_json
from intake.quoting.walkin import load_walkin
from intake.services.quote_letter import compose
from intake.services.quote_view import QuoteView
from intake.store.outbox import Mail
from intake.trade.units import read_in

from .octave import DEMO, HERE, NEW, ROWS, make

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


def test_the_picture_of_the_string_says_what_the_reading_says(
    quote: Quote, book: Book, walkin: Walkin
) -> None:
    """The family's own tension moves both."""
    margin = quote.assessment.readings["buzz_margin"].value

    html = quote_html(quote, book, walkin, PRINTED)
    drawing = html[html.rindex("<svg", 0, html.index('class="swing"')) :].split("</svg>")[0]

    said = re.search(r"ce qui laisse (\d,\d+) mm", drawing)
    assert said and abs(float(said[1].replace(",", ".")) - float(margin) * 25.4) <= 0.01


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


def test_every_value_offered_is_metric(book: Book) -> None:
    asked = [question for question in book.questions.values() if question.kind in ASKED]
    offered = {question.id: [choice.id for choice in question.values] for question in asked}

    inches = [value for values in offered.values() for value in values if re.search(r"in$|F$|/", value)]

    assert inches == []
    assert offered["scale_length"][0] == "352 mm"
    assert offered["shop_temp"] == ["18 C", "19 C", "20 C", "21 C", "22 C"]


def test_an_offered_value_is_what_the_demo_shop_offers_to_a_ruler(book: Book) -> None:
    demo = load_book(DEMO)
    for id, question in book.questions.items():
        if question.kind not in ASKED or id in ROWS:
            continue
        for ours, theirs in zip(question.values, demo.questions[id].values, strict=False):
            inch = read_in(theirs.id, demo.questions[id].typed_in, question.unit)
            read = read_in(ours.id, question.typed_in, question.unit)
            assert abs(read - inch) <= max(abs(inch) / 20, Fraction(1)), (id, ours, theirs)


def test_the_length_of_a_crack_is_millimetres(book: Book) -> None:
    pins = [{"part": "top", "kind": "crack", "state": "closed", "size": "70"}]

    read = read_answers(book, {"pins": pins})
    far = read_answers(book, {"pins": [{**pins[0], "size": "2000"}]})

    assert read.values["pins"][0]["size"] == Fraction(70) * Fraction(5, 127)
    assert "2000 mm is not a plausible size: up to 1524 mm" in far.problems["pins"]


INCHES = re.compile(r"[\d>] ?(?:in|ft|po)\b[\"<. ,;]|\d ?°F|/64|pouce")
POINT = re.compile(r"\d\.\d+ (?:mm|°C|€)")


@pytest.fixture
def shop(tmp_path: Path, open_app: Any, badge: Any, walkin: Walkin) -> Iterator[tuple[Any, FlaskClient, str]]:
    """The metric shop with one quote, in French: its context, the owner's browser and the quote's address."""
    app = open_app(Settings(tmp_path / "data", make(tmp_path / "book")))
    ctx = app.extensions["context"]
    client, ticket = app.test_client(badge=badge(ctx, "owner")), str(uuid4())
    client.post(f"/tickets/{ticket}", data=MultiDict(to_fields(ctx.book, walkin.answers)))
    with ctx.store.writing() as db:
        db["tickets"].update(ticket, {"language": "fr"})
    yield ctx, client, client.post(f"/tickets/{ticket}/quotes").headers["Location"]
    ctx.store.close()


def visible(page: str) -> str:
    return re.sub(r"(?s)<script.*?</script>|<style.*?</style>|<svg.*?</svg>", "", page)


def test_the_wizard_and_the_quote_on_screen_are_metric(shop: tuple[Any, FlaskClient, str]) -> None:
    _ctx, client, quoted = shop

    wizard, quote, board = (client.get(page).text for page in (quoted.split("/quotes")[0], quoted, "/"))

    for page in (wizard, quote, board):
        assert not INCHES.findall(visible(page).replace(".004 in (0.1 mm)", ""))
    assert 'value="352 mm"' in wizard and 'value="50 mm"' in wizard


def test_the_customers_page_and_mail_are_metric_with_the_comma_of_the_language(
    shop: tuple[Any, FlaskClient, str],
) -> None:
    ctx, client, quoted = shop
    ticket = quoted.split("/")[2]
    mail = Mail(1, ticket, 1, "<1@quai.example>", "odile@home.example", "fr", "https://quai.example", "", "",
                0, "", "", "", "", 1)  # fmt: skip

    link = re.search(r"/q/[\w-]+", client.post(f"{quoted}/link").text)
    visit = QuoteView.of(ctx, ctx.store.db, ticket, 1, "fr")
    assert link and visit
    letter = compose(visit, MailSettings("", 25, "none", "a@quai.example"), mail, link="L", pdf=b"")
    page = client.get(link[0]).text

    for words in (visible(page), letter.text, visible(letter.html)):
        assert not INCHES.findall(words) and not POINT.findall(words)
        assert re.search(r"\d,\d\d\s€", words)
    assert "3,4 mm" in page


def test_a_change_of_measures_is_doubted_for_the_tickets_that_are_open(book: Book) -> None:
    doubts = leap_problems(load_book(DEMO), book)

    (said,) = [doubt for doubt in doubts if doubt.column == "measures"]

    assert said.doubt and "on open tickets would be read in the new one" in said.sentence
