"""A third language makes whole pages with nothing but a catalogue and the book’s own columns: German."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from uuid import uuid4

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.datastructures import MultiDict

from intake.book.answers import to_fields
from intake.book.checks.texts import text_problems
from intake.book.files.load import load_book
from intake.book.model import Book
from intake.config import Settings, demo_book
from intake.mail.settings import MailSettings
from intake.paper import DocumentOptions, bench_html, quotation_xml, quote_html, receipt_html, tag_html
from intake.quoting.quote import make_quote
from intake.quoting.walkin import load_walkin
from intake.services.context import Context
from intake.services.quote_letter import compose
from intake.services.quote_view import QuoteView
from intake.store.outbox import Mail
from tests.i18n.german_book import MISSING, german, german_or_marked, make_german_book

DAY = date(2026, 11, 25)
OPTIONS = DocumentOptions("7", "https://shop.example/t/7", "Ada", language="de")
PRINTED = ("01-", "03-", "08-", "153-", "154-", "158-", "160-")
SETTINGS = MailSettings("smtp.shop.example", 587, "starttls", "bench@shop.example")
LISTS = {"jobs.csv", "operations.csv", "parts.csv", "checklist.toml", "shop.toml"}


def walkin_file(start: str) -> Path:
    (path,) = (demo_book() / "walkins").glob(f"{start}*.toml")
    return path


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_german_book(tmp_path_factory.mktemp("german") / "book", german_or_marked)


@pytest.fixture(scope="module")
def book(folder: Path) -> Book:
    return load_book(folder)


@pytest.mark.parametrize("start", PRINTED)
def test_paper_is_german_throughout(book: Book, start: str) -> None:
    walkin = load_walkin(walkin_file(start))
    quote = make_quote(book, walkin, DAY)

    pages = {
        "quote": quote_html(quote, book, walkin, OPTIONS),
        "receipt": receipt_html(book, walkin, DAY, OPTIONS),
        "tag": tag_html(book, walkin, DAY, OPTIONS, "4x6"),
        "bench sheet": bench_html(quote, book, walkin, OPTIONS, tier="everything"),
        "data": quotation_xml(quote, book, walkin, number="7", revision=1, language="de").decode(),
    }

    for name, page in pages.items():
        assert not re.findall(MISSING + "[^<]*", page), name
    assert "Reparaturangebot 7" in pages["quote"] and "25. November 2026" in pages["quote"]
    assert 'lang="de"' in pages["quote"]


def test_the_checker_names_no_list_or_question_without_german(tmp_path: Path) -> None:
    written = load_book(make_german_book(tmp_path / "book", german))

    missing = [problem for problem in text_problems(written) if problem.column.endswith("[de]")]

    assert [str(problem) for problem in missing if problem.file in LISTS] == []


def test_what_has_no_german_yet_is_english_and_named_by_the_checker(tmp_path: Path) -> None:
    folder = make_german_book(tmp_path / "book", lambda text: "" if text == "Refret" else german(text))
    written = load_book(folder)

    problems = [problem for problem in text_problems(written) if problem.file == "jobs.csv"]

    assert written.jobs["refret-full"].name.in_("de") == "Refret"
    assert [problem.column for problem in problems] == ["name [de]"]


@pytest.fixture
def shop(
    folder: Path, tmp_path: Path, open_app: Callable[[Settings], Flask], monkeypatch: pytest.MonkeyPatch
) -> Iterator[Flask]:
    """An app with that book; no WeasyPrint."""
    monkeypatch.setattr("intake.services.documents.render_quote_pdf", lambda *_, **__: b"%PDF-1.7 quote")
    now = datetime(2026, 11, 25, 15, tzinfo=UTC)
    app = open_app(Settings(data=tmp_path / "data", book=folder, now=lambda: now))
    yield app
    app.extensions["context"].store.close()


def take_in(app: Flask, start: str) -> tuple[FlaskClient, str, str]:
    """A client, the ticket of a sample walk-in, and the path of its customer's page."""
    client, ticket = app.test_client(), str(uuid4())
    ctx: Context = app.extensions["context"]
    fields = MultiDict(to_fields(ctx.book, load_walkin(walkin_file(start)).answers))
    assert client.post(f"/tickets/{ticket}", data=fields).status_code == 303
    frozen = client.post(f"/tickets/{ticket}/quotes")
    answer = client.post(f"{frozen.headers['Location']}/link", data={"language": "de"})
    found = re.search(r'value="http://[^/"]+(/q/[^"]+)"', answer.text)
    assert found, answer.text
    return client, ticket, found[1]


def hidden_fields(page: str) -> MultiDict[str, str]:
    """What the form of the yes sends besides name and tick."""
    form = page[page.index('id="yes"') :]
    form = form[: form.index("</form>")]
    return MultiDict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form))


@pytest.mark.parametrize("start", ["03-", "158-"])
def test_the_customer_s_page_is_german_throughout(shop: Flask, start: str) -> None:
    client, _ticket, page = take_in(shop, start)

    shown = client.get(f"{page}?lang=de")
    refused = client.post(f"{page}/yes", data=hidden_fields(shown.text))
    no = client.post(f"{page}/no", data={"lang": "de", "reason": "Zu teuer."}, follow_redirects=True)

    assert '<html lang="de">' in shown.text and "Ihr Reparaturangebot" in shown.text
    assert 'lang="fr"' in shown.text and ">Français<" in shown.text
    assert refused.status_code == 422 and "Bitte geben Sie Ihren Namen an." in refused.text
    assert "Sie haben abgesagt" in no.text
    assert not re.findall(MISSING + "[^<]*", shown.text + refused.text + no.text)


def test_a_letter_is_german_throughout(shop: Flask) -> None:
    _client, ticket, _page = take_in(shop, "03-")
    ctx: Context = shop.extensions["context"]
    visit = QuoteView.of(ctx, ctx.store.db, ticket, 1, "de")
    assert visit
    mail = Mail(
        1, ticket, 1, "<1@shop.example>", "rose@home.example", "de", "https://shop.example", "", "waiting", 0,
        "", "", "", "", 1,
    )  # fmt: skip

    letter = compose(visit, SETTINGS, mail, link="https://shop.example/q/x", pdf=b"")

    assert letter.subject == f"Ihr Reparaturangebot {visit.number} von Harbour Lane Strings"
    assert letter.text.startswith("Guten Tag")
    assert MISSING not in letter.text + letter.html
