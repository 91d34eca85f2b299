"""Freezing a quote: once for each state of the ticket, kept to the cent, printed on two papers."""

from __future__ import annotations

import hashlib
import io
import json
import re
import shutil
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from pypdf import PdfReader

from intake.book.model import Book
from intake.config import Settings, demo_book
from intake.paper import DocumentOptions
from intake.quoting.model import Quote, Walkin
from intake.quoting.quote import make_quote
from intake.quoting.serialise import dumps, loads
from intake.quoting.to_json import quote_json
from intake.quoting.walkin import load_walkin
from intake.services.context import Context
from intake.services.walkins import from_json
from intake.store import events, quotes, tickets
from tests.memo import sample_book

TODAY = date(2026, 11, 25)


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """No WeasyPrint: the papers asked for, in order."""
    printed: list[str] = []

    def render(_quote: object, _book: object, _walkin: object, options: DocumentOptions) -> bytes:
        printed.append(options.paper)
        return f"%PDF {options.number} {options.paper}".encode()

    monkeypatch.setattr("intake.services.documents.render_quote_pdf", render)
    return printed


def freeze_one(client: FlaskClient, ticket: str, key: str = "") -> str:
    answer = client.post(f"/tickets/{ticket}/quotes", headers={"Idempotency-Key": key} if key else {})
    assert answer.status_code == 303, answer.text
    return str(answer.headers["Location"])


def test_the_pdf_is_real_and_kept(client: FlaskClient, quoted: str, ctx: Context) -> None:
    place = freeze_one(client, quoted)
    answer = client.get(f"{place}.pdf")
    assert answer.mimetype == "application/pdf"
    assert answer.headers["Content-Disposition"] == 'inline; filename="quote-1-1.pdf"'
    frozen = quotes.find(ctx.store.db, quoted, 1)
    assert frozen is not None and hashlib.sha256(answer.data).hexdigest() == frozen.pdf_sha256
    words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.data)).pages)
    total = json.loads(frozen.quote)["offers"]["put_right"]["total"]
    assert total.split(".")[0] in words.replace(",", "")
    width = {paper: page_width(client.get(f"{place}.pdf?paper={paper}").data) for paper in ("letter", "a4")}
    assert width == {"letter": 612, "a4": 595}


def page_width(pdf: bytes) -> int:
    return round(float(PdfReader(io.BytesIO(pdf)).pages[0].mediabox.width))


def test_page_and_board_say_what_was_frozen(
    client: FlaskClient, quoted: str, ctx: Context, quick: Any
) -> None:
    place = freeze_one(client, quoted)
    assert place == f"/tickets/{quoted}/quotes/1"
    frozen = quotes.find(ctx.store.db, quoted, 1)
    assert frozen is not None
    offer = json.loads(frozen.quote)["offers"]["put_right"]
    figures = client.get(place).text.replace(",", "")
    assert offer["total"] in figures
    found = tickets.find(ctx.store.db, quoted)
    assert found is not None
    assert (found.state, found.total, found.ready) == ("quoted", offer["total"], offer["ready_today"])
    assert events.of_ticket(ctx.store.db, quoted)[-1]["what"] == "quote frozen"


def test_an_unchanged_ticket_keeps_its_revision(client: FlaskClient, quoted: str, quick: list[str]) -> None:
    assert freeze_one(client, quoted) == freeze_one(client, quoted) == freeze_one(client, quoted, "k")
    assert quick == ["letter"]


def test_a_change_makes_the_next_revision_and_leaves_the_old_one(
    client: FlaskClient, phone: Any, quoted: str, quick: Any
) -> None:
    first = freeze_one(client, quoted)
    before = client.get(first).text
    phone.save(quoted, "hardware-and-wiring", [("tuners", "stiff")])
    assert freeze_one(client, quoted) == f"/tickets/{quoted}/quotes/2"
    assert figures(client.get(first).text) == figures(before)
    assert client.get(f"{first}.pdf").data == b"%PDF 1-1 letter"


def figures(page: str) -> list[str]:
    return re.findall(r"\$[\d,.]+", page)


def test_a_quote_past_its_day_is_made_anew(
    app: Flask, client: FlaskClient, quoted: str, ctx: Context, clock: Any, badge: Any, quick: Any
) -> None:
    freeze_one(client, quoted)
    clock.move(days=400)
    again = app.test_client(badge=badge(ctx))
    assert freeze_one(again, quoted).endswith("/2")


def test_the_same_key_freezes_once(client: FlaskClient, phone: Any, quoted: str, quick: Any) -> None:
    first = freeze_one(client, quoted, "k")
    phone.save(quoted, "hardware-and-wiring", [("tuners", "stiff")])
    assert freeze_one(client, quoted, "k") == first


def test_many_at_once_make_one_revision(app: Flask, quoted: str, ctx: Context, quick: Any) -> None:
    def send(number: int) -> int:
        headers = {"Idempotency-Key": str(number)}
        return app.test_client().post(f"/tickets/{quoted}/quotes", headers=headers).status_code

    with ThreadPoolExecutor(6) as threads:
        assert list(threads.map(send, range(6))) == [303] * 6
    last = quotes.latest(ctx.store.db, quoted)
    assert last is not None and last.revision == 1


def test_a_ticket_that_changes_meanwhile_is_not_frozen(
    client: FlaskClient, phone: Any, quoted: str, ctx: Context, monkeypatch: pytest.MonkeyPatch
) -> None:
    def render(*_: object, **__: object) -> bytes:
        phone.save(quoted, "hardware-and-wiring", [("tuners", "stiff")])
        return b"%PDF"

    monkeypatch.setattr("intake.services.documents.render_quote_pdf", render)
    answer = client.post(f"/tickets/{quoted}/quotes")
    assert answer.status_code == 409
    assert quotes.latest(ctx.store.db, quoted) is None
    assert list(ctx.store.quotes.iterdir()) == []


def test_a_ticket_with_something_wrong_is_not_frozen(client: FlaskClient, phone: Any, quoted: str) -> None:
    phone.save(quoted, "neck", [("relief", "eight")])
    answer = client.post(f"/tickets/{quoted}/quotes")
    assert answer.status_code == 422
    assert "eight" in answer.text
    shown = answer.text.partition('id="summary"')[2]  # why comes before what it would cost
    places = [shown.index(one) for one in ("To look at again", "there is no quote to hand over", "offers")]
    assert places == sorted(places)


def test_what_is_wrong_in_a_step_not_assessed_stops_nothing(
    client: FlaskClient, phone: Any, quoted: str, quick: Any
) -> None:
    phone.save(quoted, "neck", [("relief", "eight")], passed="not_assessed")
    freeze_one(client, quoted)


def test_a_ticket_that_nobody_knows_is_not_frozen(client: FlaskClient, ticket: str) -> None:
    assert client.post(f"/tickets/{ticket}/quotes").status_code == 422
    for address in ("quotes/1", "quotes/1.pdf", "quotes/0"):
        assert client.get(f"/tickets/{ticket}/{address}").status_code == 404


def test_another_paper_is_refused(client: FlaskClient, quoted: str, quick: Any) -> None:
    assert client.get(f"{freeze_one(client, quoted)}.pdf?paper=napkin").status_code == 400


def test_a_document_that_cannot_be_made_says_why(
    client: FlaskClient, quoted: str, ctx: Context, monkeypatch: pytest.MonkeyPatch
) -> None:
    from intake.paper import PaperError

    def fail(*_: object, **__: object) -> None:
        raise PaperError("The printer is on holiday.")

    monkeypatch.setattr("intake.services.documents.render_quote_pdf", fail)
    answer = client.post(f"/tickets/{quoted}/quotes")
    assert answer.status_code == 503
    assert "on holiday" in answer.text
    assert quotes.latest(ctx.store.db, quoted) is None


def test_an_old_quote_is_shown_with_its_own_book(
    client: FlaskClient, quoted: str, data: Path, tmp_path: Path, clock: Any, open_app: Any, quick: Any
) -> None:
    """The shop renames itself; the frozen quote and its other paper still come from the old book."""
    place = freeze_one(client, quoted)
    before = client.get(place).text
    folder = tmp_path / "new-book"
    shutil.copytree(demo_book(), folder)
    shop = folder / "shop.toml"
    shop.write_text(re.sub(r"labour_rate = .*", 'labour_rate = "999"', shop.read_text("utf-8")), "utf-8")
    later = open_app(Settings(data=data, book=folder, now=clock))
    new = later.test_client()
    assert figures(new.get(place).text) == figures(before)
    assert new.get(f"{place}.pdf?paper=a4").data == b"%PDF 1-1 a4"
    assert freeze_one(new, quoted).endswith("/2")
    later.extensions["context"].store.close()


WALKINS = sorted((demo_book() / "walkins").glob("*.toml"))


@pytest.fixture(scope="module")
def demo() -> Book:

    return sample_book()


@pytest.mark.parametrize("path", WALKINS, ids=lambda path: path.stem)
def test_a_quote_comes_back_without_loss(path: Path, demo: Book) -> None:
    quote = make_quote(demo, load_walkin(path), TODAY)
    again = loads(dumps(quote))
    assert again == quote
    assert quote_json(again) == quote_json(quote)
    assert again.distinct_offers() == quote.distinct_offers()


def test_a_field_that_a_later_version_dropped_is_left_out(demo: Book) -> None:
    quote: Quote = make_quote(demo, Walkin({"family": "steel-string"}), TODAY)
    text = dumps(quote).replace('"currency":', '"colour": "red", "currency":')
    assert loads(text) == quote


def test_what_a_quote_cannot_hold_is_refused(demo: Book) -> None:
    quote = make_quote(demo, Walkin({"family": "steel-string"}), TODAY)
    with pytest.raises(TypeError, match="cannot hold"):
        dumps(replace(quote, notes=(object(),)))  # type: ignore[arg-type]


def test_a_frozen_walk_in_quotes_the_same_again(
    client: FlaskClient, quoted: str, ctx: Context, quick: Any, sample: Callable[[str], Any]
) -> None:
    freeze_one(client, quoted)
    frozen = quotes.find(ctx.store.db, quoted, 1)
    assert frozen is not None
    booked = loads(frozen.exact).booked
    again = make_quote(ctx.book, from_json(frozen.walkin), ctx.today, booked=booked)
    assert quote_json(again) == json.loads(frozen.quote)
