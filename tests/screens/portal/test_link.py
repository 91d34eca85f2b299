"""The link: unguessable, kept as a hash, in no log, dead when it should be."""

from __future__ import annotations

import logging
from typing import Any

import pytest
from flask.testing import FlaskClient

from intake.paper import DocumentOptions
from intake.services.context import Context
from intake.store import events, links, tickets


def everything_stored(ctx: Context) -> str:
    """The whole store as SQL text, and its raw bytes."""
    dump = "\n".join(ctx.store.db.conn.iterdump())
    raw = b"".join(path.read_bytes() for path in ctx.store.folder.rglob("*") if path.is_file())
    return dump + raw.decode("latin-1")


def test_the_page_needs_no_cookie_and_is_nobodys_to_keep(customer: Any) -> None:
    answer = customer.get()
    assert answer.status_code == 200
    assert "Set-Cookie" not in answer.headers
    assert "no-store" in answer.headers["Cache-Control"]
    assert "noindex" in answer.headers["X-Robots-Tag"]
    assert answer.headers["Referrer-Policy"] == "no-referrer"


def test_the_token_is_long_and_stored_only_as_a_hash(customer: Any, ctx: Context) -> None:
    token = customer.page.rpartition("/")[2]
    assert len(token) * 6 >= 128
    customer.post("seen")
    customer.say_yes()
    assert token not in everything_stored(ctx)


def test_the_token_reaches_no_log(
    customer: Any, ctx: Context, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    caplog.set_level(logging.DEBUG)

    def fail(*_: object) -> None:
        raise RuntimeError("planted")

    monkeypatch.setattr("intake.screens.portal.page._page", fail)
    desk_app = customer.client.application
    desk_app.config["PROPAGATE_EXCEPTIONS"] = False
    assert customer.get().status_code == 500
    assert "planted" in caplog.text
    assert customer.page.rpartition("/")[2] not in caplog.text


@pytest.mark.parametrize("token", ["x", "A" * 32, "A" * 5000, "%00", "..", "é"])
def test_a_guess_finds_nothing(client: FlaskClient, customer: Any, token: str) -> None:
    answer = client.get(f"/q/{token}")
    assert answer.status_code == 404
    assert "Harbour Lane Strings" in answer.text or token == ".."


def test_a_withdrawn_link_says_so_kindly(client: FlaskClient, customer: Any, ticket: str) -> None:
    client.post(f"/tickets/{ticket}/links/withdraw")
    answer = customer.get()
    assert answer.status_code == 410
    assert "was taken back" in answer.text and "555 0100" in answer.text
    assert customer.post("yes").status_code == 410


def test_one_link_is_withdrawn_and_the_other_stays(
    client: FlaskClient, customer: Any, linked: Any, ctx: Context, ticket: str
) -> None:
    other = linked()
    _, second = links.of_ticket(ctx.store.db, ticket)
    client.post(f"/tickets/{ticket}/links/withdraw", data={"link": str(second.id)})
    assert (customer.get().status_code, other.get().status_code) == (200, 410)


def test_it_ends_with_the_quote(customer: Any, clock: Any) -> None:
    clock.move(days=30)
    assert customer.get().status_code == 200
    clock.move(days=1)
    answer = customer.get()
    assert answer.status_code == 410 and "past its day" in answer.text


def test_after_a_yes_it_stays_readable(customer: Any, clock: Any) -> None:
    customer.say_yes()
    clock.move(days=60)
    assert customer.get().status_code == 200


def test_a_look_changes_nothing_and_a_browser_says_that_it_was_seen(
    customer: Any, ctx: Context, ticket: str
) -> None:
    state = lambda: getattr(tickets.find(ctx.store.db, ticket), "state", "")  # noqa: E731
    assert state() == "sent"
    customer.get()
    assert state() == "sent"
    assert customer.post("seen").status_code == 204
    assert state() == "seen"
    customer.post("seen")
    told = [event["what"] for event in events.of_ticket(ctx.store.db, ticket)]
    assert told.count("quote seen") == 1


def test_another_site_cannot_answer(customer: Any) -> None:
    form = {**customer.form(), "name": "X", "agreed": "yes"}
    headers = {"Sec-Fetch-Site": "cross-site"}
    answer = customer.client.post(f"{customer.page}/yes", data=form, headers=headers)
    assert answer.status_code == 403


def test_it_shows_only_its_own_photos(customer: Any, phone: Any, ctx: Context) -> None:
    assert customer.get(f"/photos/{'0' * 64}.jpg").status_code == 404


def test_the_language_is_the_links_or_the_addresses(customer: Any, linked: Any) -> None:
    assert '<html lang="en">' in customer.get().text
    assert '<html lang="fr">' in customer.get("?lang=fr").text
    assert "Donner votre accord" in linked(language="fr").get().text
    assert '<html lang="en">' in customer.get("?lang=zz").text


def test_the_pdf_is_a_file_in_the_customers_language(
    customer: Any, linked: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def render(_quote: object, _book: object, _walkin: object, options: DocumentOptions) -> bytes:
        assert "/q/" not in options.url
        return f"%PDF-1.7 {options.language}".encode()

    monkeypatch.setattr("intake.services.documents.render_quote_pdf", render)
    answer = customer.get("/quote.pdf")
    assert answer.data == b"%PDF-1.7 quote"
    assert answer.headers["Content-Disposition"] == 'attachment; filename="quote-1-1.pdf"'
    assert linked(language="fr").get("/quote.pdf").data == b"%PDF-1.7 fr"
