"""The papers of a ticket: each printed once for what it says, in the language of whoever reads it."""

from __future__ import annotations

import io
import re
import tomllib
from dataclasses import replace
from typing import Any

import pytest
from flask.testing import FlaskClient
from pypdf import PdfReader

from intake.book.answers import to_fields
from intake.config import demo_book
from intake.paper import SIZES, DocumentOptions
from intake.services import documents
from intake.services.context import Context
from intake.store import events, privacy, tickets


@pytest.fixture
def printed(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """No WeasyPrint: the pages that were printed, in order."""
    pages: list[str] = []

    class Press:
        def render(self, html: str) -> bytes:
            pages.append(html)
            return b"%PDF-1.7 " + str(len(pages)).encode()

    monkeypatch.setattr(documents, "press", Press)
    monkeypatch.setattr(documents, "render_quote_pdf", lambda *_, **__: b"%PDF-1.7 quote")
    return pages


@pytest.fixture
def taken_in(phone: Any, ticket: str, ctx: Context) -> str:
    """The address of a ticket with the old flat top, not quoted yet."""
    (path,) = (demo_book() / "walkins").glob("03-*.toml")
    pairs = to_fields(ctx.book, tomllib.loads(path.read_text("utf-8"))["answers"])
    phone.take_in(ticket, pairs)
    return f"/tickets/{ticket}"


def freeze(client: FlaskClient, taken_in: str) -> str:
    return str(client.post(f"{taken_in}/quotes").headers["Location"])


def say_yes(client: FlaskClient, quoted: str, offer: str) -> None:
    client.post(f"{quoted}/goahead/choice", data={"offer": offer})
    page = client.get(f"{quoted}/goahead").text
    page = page[page.index('id="yes"') :]
    form = dict(re.findall(r'name="(quote|total|ready)" value="([^"]*)"', page))
    jobs = re.findall(r'name="jobs" value="([^"]*)"', page)
    answer = client.post(f"{quoted}/goahead", data={**form, "jobs": jobs, "name": "Rose", "agreed": "yes"})
    assert answer.status_code == 303


def jobs_in(html: str) -> int:
    return len(re.findall(r'class="name">\d+\. ', html))


@pytest.mark.parametrize(
    ("locale", "paper"),
    [("en_US", "letter"), ("en_CA", "letter"), ("fr_FR", "a4"), ("en_GB", "a4"), ("de", "a4")],
)
def test_the_shops_country_says_which_paper_comes_first(ctx: Context, locale: str, paper: str) -> None:
    assert documents.first_paper(replace(ctx.book.shop, locale=locale)) == paper


def test_the_counters_page_of_the_yes_speaks_the_other_language_on_request(
    client: FlaskClient, taken_in: str, printed: list[str]
) -> None:
    quoted = freeze(client, taken_in)
    page = client.get(f"{quoted}/goahead").text
    assert f'href="{quoted}/goahead?lang=fr"' in page and "Donner votre accord" not in page
    french = client.get(f"{quoted}/goahead?lang=fr").text
    assert "Donner votre accord" in french and '<input type="hidden" name="lang" value="fr">' in french


def test_tag_and_receipt_come_before_any_quote(
    client: FlaskClient, taken_in: str, printed: list[str]
) -> None:
    page = client.get(f"{taken_in}/papers").text
    links = re.findall(r'href="([^"]+\.pdf[^"]*)"', page)
    assert len(links) == len(SIZES) + len(documents.PAPERS)
    for link in links:
        answer = client.get(link)
        assert answer.mimetype == "application/pdf" and answer.data.startswith(b"%PDF")
    assert len(printed) == len(links)
    assert "Label 62 × 100 mm" in page and "It comes with the quote." in page


def test_the_same_page_is_printed_once_and_a_changed_one_anew(
    client: FlaskClient, phone: Any, taken_in: str, ticket: str, printed: list[str], ctx: Context
) -> None:
    first, again = client.get(f"{taken_in}/tag.pdf").data, client.get(f"{taken_in}/tag.pdf").data
    assert first == again and len(printed) == 1
    phone.save(ticket, "customer", [("customer_name", "Somebody Else")])
    assert client.get(f"{taken_in}/tag.pdf").data != first
    assert "Somebody Else" in printed[1]
    assert len(list((ctx.store.folder / "printed").rglob("tag-*.pdf"))) == 1


def test_the_bench_gets_what_was_agreed(client: FlaskClient, taken_in: str, printed: list[str]) -> None:
    quoted = freeze(client, taken_in)
    page = client.get(f"{taken_in}/papers").text
    assert "Nothing is agreed yet" in page and "bench.pdf?offer=put_right" in page
    assert client.get(f"{quoted}/bench.pdf?offer=everything").status_code == 200
    say_yes(client, quoted, "playable")
    page = client.get(f"{taken_in}/papers").text
    assert "work that was agreed" in page and "offer=" not in page
    client.get(f"{quoted}/bench.pdf")
    everything, agreed = printed
    assert 0 < jobs_in(agreed) < jobs_in(everything)
    assert "Actual" in agreed and "Done by" in agreed


def test_the_customers_language_is_chosen_once_and_followed(
    client: FlaskClient, taken_in: str, ticket: str, printed: list[str], ctx: Context, monkeypatch: Any
) -> None:
    quotes: list[str] = []

    def render(_quote: object, _book: object, _walkin: object, options: DocumentOptions) -> bytes:
        quotes.append(options.language)
        return b"%PDF-1.7 quote"

    monkeypatch.setattr(documents, "render_quote_pdf", render)
    quoted = freeze(client, taken_in)
    assert client.post(f"{taken_in}/language", data={"language": "fr"}).status_code == 303
    assert events.of_ticket(ctx.store.db, ticket)[-1]["what"] == "language chosen"
    client.get(f"{quoted}.pdf")
    client.get(f"{taken_in}/receipt.pdf")
    client.get(f"{taken_in}/tag.pdf")
    assert quotes == ["en", "fr"]
    receipt, tag = printed
    assert '<html lang="fr">' in receipt and '<html lang="en">' in tag
    assert "Donner votre accord" in client.get(f"{quoted}/goahead").text
    link = re.search(r'value="http://[^/"]+(/q/[^"]+)"', client.post(f"{quoted}/link").text)
    assert link and "Donner votre accord" in client.get(link[1]).text


def test_what_the_sending_form_says_of_the_language_is_remembered(
    client: FlaskClient, taken_in: str, ticket: str, printed: list[str], ctx: Context
) -> None:
    quoted = freeze(client, taken_in)
    client.post(f"{quoted}/link", data={"language": "fr"})
    found = tickets.find(ctx.store.db, ticket)
    assert found and found.language == "fr"
    assert 'value="fr" selected' in client.get(f"{quoted}/send").text


@pytest.mark.parametrize("more", ["tag.pdf?size=a5", "receipt.pdf?paper=a5", "quotes/1/bench.pdf?offer=some"])
def test_what_there_is_not_is_refused(
    client: FlaskClient, taken_in: str, printed: list[str], more: str
) -> None:
    freeze(client, taken_in)
    assert client.get(f"{taken_in}/{more}").status_code == 400
    assert client.post(f"{taken_in}/language", data={"language": "xx"}).status_code == 400
    assert not printed


def test_erasing_takes_the_printed_copies_too(
    client: FlaskClient, taken_in: str, ticket: str, printed: list[str], ctx: Context, clock: Any
) -> None:
    client.get(f"{taken_in}/tag.pdf")
    privacy.erase(ctx.store, [ticket], clock())
    assert not list((ctx.store.folder / "printed").rglob("*.pdf"))


def test_real_papers(client: FlaskClient, taken_in: str) -> None:
    """Through the worker that prints the quote."""
    quoted = freeze(client, taken_in)
    for address, words in (
        (f"{quoted}/bench.pdf", "Actual"),
        (f"{taken_in}/tag.pdf?size=4x6", "1"),
        (f"{taken_in}/receipt.pdf?paper=a4", "Receipt 1"),
    ):
        answer = client.get(address)
        assert answer.status_code == 200, answer.text
        assert words in PdfReader(io.BytesIO(answer.data)).pages[0].extract_text()
