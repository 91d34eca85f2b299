"""Headers on every answer, and requests that another site makes."""

from __future__ import annotations

import re
import sqlite3
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import encode_multipart

from intake.services.context import Context
from intake.store import tickets

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'; object-src 'none'"
)
EXAMPLES = {
    "number": 1,
    "row": 1,
    "what": "stop",
    "ticket": "01890a5d-ac96-774b-bcce-b302099a8057",
    "step": "neck",
    "revision": 1,
    "sha": "0" * 64,
    "filename": "css/tallyfret.css",
}


def addresses(app: Flask) -> list[tuple[str, str]]:
    """Every route with every method it takes, its variables filled in."""
    adapter = app.url_map.bind("localhost")
    found = []
    for rule in app.url_map.iter_rules():
        values = {
            name: EXAMPLES.get(name, 1 if f"<int:{name}>" in rule.rule else "x.csv")
            for name in rule.arguments
        }
        for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"}):
            found.append((method, adapter.build(rule.endpoint, values, method=method)))
    return found


def test_every_route_carries_the_headers(app: Flask, client: FlaskClient) -> None:
    asked = [*addresses(app), ("GET", "/no/such/page")]
    assert len(asked) > 15
    for method, address in asked:
        answer = client.open(address, method=method)
        place = f"{method} {address}"
        assert answer.headers["X-Content-Type-Options"] == "nosniff", place
        if address.startswith("/static/") and answer.mimetype == "text/css":
            continue  # never shown as a page
        assert answer.headers["Content-Security-Policy"] == POLICY, place
        assert answer.headers["Referrer-Policy"] == "no-referrer", place
        if answer.mimetype == "text/html":
            assert "charset=utf-8" in answer.headers["Content-Type"], place
            assert "HX-Request" in answer.headers["Vary"], place


def test_pages_hold_nothing_inline(client: FlaskClient, quoted: str) -> None:
    frozen = client.post(f"/tickets/{quoted}/quotes").headers["Location"]
    for address in ("/", "/walkin", f"/tickets/{quoted}", f"/tickets/{quoted}/summary", frozen):
        page = client.get(address).text
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|<script(?![^>]*\ssrc=)|hx-on|javascript:", page), (
            address
        )


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Site": "cross-site", "Origin": "http://localhost"},
        {"Origin": "http://evil.example"},
        {"Origin": "http://localhost:81"},
        {"Origin": "https://localhost"},
        {"Origin": "null"},
    ],
)
def test_another_site_changes_nothing(
    app: Flask, client: FlaskClient, ctx: Context, headers: dict[str, str]
) -> None:
    for method, address in addresses(app):
        if method == "POST":
            answer = client.open(address, method=method, data={"customer_name": "Eve"}, headers=headers)
            assert answer.status_code == 403, address
            assert "another site" in answer.text
    assert tickets.board(ctx.store.db) == []


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "same-origin"},
        {"Sec-Fetch-Site": "none"},
        {"Sec-Fetch-Site": "same-origin", "Origin": "null"},
        {"Origin": "http://localhost"},
        {},
    ],
)
def test_our_own_pages_may_write(client: FlaskClient, ticket: str, headers: dict[str, str]) -> None:
    assert (
        client.post(f"/tickets/{ticket}", data={"customer_name": "Ines"}, headers=headers).status_code == 303
    )


def test_reading_is_open_to_links_from_elsewhere(client: FlaskClient) -> None:
    assert client.get("/", headers={"Sec-Fetch-Site": "cross-site"}).status_code == 200


def test_plain_http_on_the_shop_s_network_keeps_its_origin(client: FlaskClient) -> None:
    """With no-referrer a browser sends `Origin: null` from a form, and no Sec-Fetch-Site over plain http
    (Fetch standard, "append a request Origin header")."""
    answer = client.get("/", base_url="http://192.168.1.5:8642")
    assert answer.headers["Referrer-Policy"] == "same-origin"
    answer = client.get("/", base_url="https://192.168.1.5:8642")
    assert answer.headers["Referrer-Policy"] == "no-referrer"


def test_get_never_writes(app: Flask, client: FlaskClient, ctx: Context, quoted: str) -> None:
    client.post(f"/tickets/{quoted}/quotes")

    def content() -> list[str]:
        return list(ctx.store.db.iterdump())

    before = content()
    for method, address in addresses(app):
        if method == "GET":
            client.get(address.replace(EXAMPLES["ticket"], quoted))  # type: ignore[arg-type]
    assert content() == before


@pytest.mark.parametrize("in_parts", [False, True])
def test_too_much_is_refused_in_words(client: FlaskClient, ticket: str, in_parts: bool) -> None:
    boundary, parts = encode_multipart({"customer_name": "x" * 2_000_000})
    kind = f"multipart/form-data; boundary={boundary}" if in_parts else "application/x-www-form-urlencoded"
    answer = client.post(f"/tickets/{ticket}", data=parts, content_type=kind)
    assert answer.status_code == 413
    assert "too large" in answer.text


def test_an_unforeseen_error_says_so_and_tells_nothing(
    client: FlaskClient, monkeypatch: Any, caplog: pytest.LogCaptureFixture
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("the secret")

    monkeypatch.setattr("intake.screens.board.page.tickets.board", fail)
    answer = client.get("/")
    assert answer.status_code == 500
    assert "Something went wrong" in answer.text and "secret" not in answer.text
    assert "the secret" in caplog.text


def test_a_locked_file_asks_to_try_again(phone: Any, ticket: str, ctx: Context) -> None:
    ctx.store.db.execute("PRAGMA busy_timeout = 1")
    other = sqlite3.connect(ctx.store.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    answer = phone.save(ticket, "neck", [("relief", "0.008 in")])
    other.execute("ROLLBACK")
    other.close()
    assert (answer.status_code, "Saved-Key" in answer.headers) == (503, False)
    assert answer.headers["Retry-After"]


def test_a_full_disk_says_so_and_keeps_what_was_there(phone: Any, ticket: str, ctx: Context) -> None:
    """SQLite refuses to grow, as it does when the disk is full."""
    phone.save(ticket, "neck", [("relief", "0.008 in")])
    db = ctx.store.db
    (pages,) = db.execute("PRAGMA page_count").fetchone()
    db.execute(f"PRAGMA max_page_count = {pages}")
    fields = [("complaint_words", "It buzzes. " * 300)]
    answers = [phone.save(ticket, "player", fields, key=str(number)) for number in range(40)]
    full = next(answer for answer in answers if answer.status_code == 507)
    assert "disk is full" in full.text and "Saved-Key" not in full.headers
    db.execute("PRAGMA max_page_count = 1000000")
    assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    again = phone.save(ticket, "player", fields, key=str(answers.index(full)))
    assert (again.status_code, again.headers["Saved-Key"]) == (200, str(answers.index(full)))


def test_static_files_with_their_hash_are_kept_for_ever(client: FlaskClient) -> None:
    (address,) = re.findall(r'href="(/static/[0-9a-f]{12}/css/tallyfret\.css)"', client.get("/").text)
    assert "immutable" in client.get(address).headers["Cache-Control"]
    bare = client.get("/static/css/tallyfret.css")
    assert bare.headers["Cache-Control"] == "no-cache"
    assert (
        client.get("/static/css/tallyfret.css", headers={"If-None-Match": bare.headers["ETag"]}).status_code
        == 304
    )
    assert client.get("/static/../intake/app.py").status_code == 404
