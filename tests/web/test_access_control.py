"""Who gets in: every address as nobody, as each role, on a withdrawn phone, after the session's end."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.routing import Rule

from intake.services.context import Context
from intake.store import devices, people, sessions
from intake.web.access_control import inside
from intake.web.permissions import ANYBODY, OWNER, may

EXAMPLES = {
    "number": 999,
    "row": 999,
    "what": "off",
    "ticket": "01890a5d-ac96-774b-bcce-b302099a8057",
    "step": "neck",
    "revision": 1,
    "sha": "0" * 64,
    "filename": "css/tallyfret.css",
}
STRANGERS = (
    "nobody",
    "a phone without anybody",
    "a withdrawn phone",
    "an ended session",
    "somebody turned off",
)


def example(rule: Rule, name: str) -> object:
    """A value that fits the variable of an address."""
    return 1 if f"<int:{name}>" in rule.rule else "x.csv"


def addresses(app: Flask) -> list[tuple[str, str, str]]:
    """Endpoint, method and address of everything that the program answers."""
    adapter = app.url_map.bind("localhost")
    return [
        (
            rule.endpoint,
            method,
            adapter.build(rule.endpoint, {n: EXAMPLES.get(n, example(rule, n)) for n in rule.arguments}),
        )
        for rule in app.url_map.iter_rules()
        for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"})
    ]


@pytest.fixture
def somebody(app: Flask, ctx: Context, badge: Any) -> Callable[[str], FlaskClient]:
    """A client by what it is in the table of permissions."""

    def make(who: str) -> FlaskClient:
        if who == "nobody":
            return app.test_client(badge={})
        cookies = badge(ctx, who if who in ("owner", "bench") else "counter", f"Somebody {who}", who)
        with ctx.store.writing() as db:
            phone = devices.with_token(db, cookies["device"])
            person = people.named(db, f"Somebody {who}")
            assert phone
            if who == "a withdrawn phone":
                devices.revoke(db, phone.id, ctx.now())
            if who == "an ended session":
                sessions.end(db, cookies["session"], ctx.now())
            if who == "somebody turned off" and person:
                people.set_active(db, person.id, False, ctx.now())
        if who == "a phone without anybody":
            del cookies["session"]
        return app.test_client(badge=cookies)

    return make


def test_the_table_names_only_what_there_is(app: Flask) -> None:
    known = {endpoint for endpoint, _, _ in addresses(app)}
    assert known >= ANYBODY | OWNER and not ANYBODY & OWNER
    assert len(known - ANYBODY - OWNER) > 15


@pytest.mark.parametrize("who", STRANGERS)
def test_a_stranger_gets_nothing_and_changes_nothing(
    app: Flask, ctx: Context, somebody: Callable[[str], FlaskClient], who: str
) -> None:
    client = somebody(who)
    before = list(ctx.store.db.iterdump())
    for endpoint, method, address in addresses(app):
        if endpoint in ANYBODY:
            continue
        page = client.open(address, method=method)
        if method == "GET":
            assert page.status_code == 303, address
            assert page.headers["Location"].startswith("/signin?next=/"), address
        else:
            assert (page.status_code, page.mimetype) == (401, "text/html"), address
        for headers in ({"HX-Request": "true"}, {"Idempotency-Key": "k"}, {"Sec-Fetch-Mode": "cors"}):
            answer = client.open(address, method=method, headers=headers)
            assert (answer.status_code, answer.mimetype) == (401, "text/plain"), address
            assert "Saved-Key" not in answer.headers and len(answer.text) > 20
            assert (answer.headers.get("Revoked") == "yes") is (who == "a withdrawn phone")
    assert list(ctx.store.db.iterdump()) == before


@pytest.mark.parametrize("who", STRANGERS)
def test_what_anybody_may_see_needs_no_sign_in(
    app: Flask, somebody: Callable[[str], FlaskClient], who: str
) -> None:
    client = somebody(who)
    for address in (
        "/ping",
        "/healthz",
        "/manifest.webmanifest",
        "/sw.js",
        "/offline",
        "/install",
        "/signin",
        "/enrol",
    ):
        assert client.get(address).status_code in (200, 204), address
    assert client.get("/static/css/tallyfret.css").status_code == 200
    assert client.get("/q/no-such-link").status_code == 404
    assert client.get("/nowhere").status_code == 404


@pytest.mark.parametrize("role", ["owner", "bench", "counter"])
def test_each_role_gets_what_the_table_says(
    app: Flask, somebody: Callable[[str], FlaskClient], role: str
) -> None:
    for endpoint, method, address in addresses(app):
        if endpoint in ("access.sign_out", "access.enrol"):
            continue
        status = somebody(role).open(address, method=method, headers={"Idempotency-Key": "k"}).status_code
        assert (status == 403) is not may(role, endpoint), (address, status)
        if endpoint not in ANYBODY:
            assert status != 401, address


def test_only_the_owner_sees_people(somebody: Callable[[str], FlaskClient]) -> None:
    assert "Withdraw" in somebody("owner").get("/people").text
    for role in ("bench", "counter"):
        client = somebody(role)
        assert client.get("/people").status_code == 403
        assert "/people" not in client.get("/").text
    assert "/people" in somebody("owner").get("/").text


def test_the_sign_in_page_leads_back_to_where_one_was(stranger: FlaskClient, ticket: str) -> None:
    for address in (f"/tickets/{ticket}", f"/tickets/{ticket}/quotes/1/send?lang=fr", "/?q=Okafor"):
        place = stranger.get(address).headers["Location"]
        page = stranger.get(place)
        assert page.status_code == 200
        assert f'name="next" value="{address}"' in page.text


@pytest.mark.parametrize(
    "address",
    [
        "//evil.example", "/\\evil.example", "\\\\evil.example", "https://evil.example", "javascript:a()",
        "/\t/evil.example", "/\n//evil.example", "", "evil", "/" + "x" * 2000, "/a\\b", "/\u2028",
    ],
)  # fmt: skip
def test_it_leads_nowhere_else(address: str) -> None:
    assert inside(address) == "/"


def test_inside_keeps_the_place_in_the_page() -> None:
    assert inside("/tickets/1?x=y#neck") == "/tickets/1?x=y#neck"


def test_a_link_followed_from_elsewhere_gets_a_page_that_asks_again(stranger: FlaskClient) -> None:
    """A browser sends Strict cookies only when a page of ours asks, so one of ours asks."""
    first = stranger.get("/", headers={"Sec-Fetch-Site": "cross-site"})
    assert first.status_code == 200 and 'http-equiv="refresh" content="0"' in first.text
    assert stranger.get("/", headers={"Sec-Fetch-Site": "same-origin"}).status_code == 303


def test_a_save_after_the_end_keeps_everything_on_the_phone(phone: Any, ticket: str, clock: Any) -> None:
    assert phone.save(ticket, "neck", [("relief", "0.008 in")], key="a").status_code == 200
    clock.move(hours=12)
    answer = phone.save(ticket, "neck", [("relief", "0.010 in")], key="b", based_on=1)
    assert (answer.status_code, "Saved-Key" in answer.headers) == (401, False)
    assert "Sign in" in answer.text
    repeated = phone.save(ticket, "neck", [("relief", "0.008 in")], key="a")
    assert (repeated.status_code, "Saved-Key" in repeated.headers) == (401, False)


def test_a_form_without_script_can_be_sent_once_more(
    app: Flask, stranger: FlaskClient, badge: Any, ctx: Context, ticket: str, held: Any
) -> None:
    """The answer is no redirect, so that the browser's "load anew" posts the same again."""
    form = {"customer_name": "Ines", "go": "save"}
    refused = stranger.post(f"/tickets/{ticket}", data=form)
    assert refused.status_code == 401 and 'target="_blank"' in refused.text
    assert f'<form method="post" action="/tickets/{ticket}">' in refused.text
    assert '<input type="hidden" name="customer_name" value="Ines">' in refused.text
    assert app.test_client(badge=badge(ctx)).post(f"/tickets/{ticket}", data=form).status_code == 303
    assert held(ticket) == {"customer_name": "Ines"}


def test_use_keeps_a_session_alive_and_is_noted_now_and_then(
    client: FlaskClient, clock: Any, ctx: Context
) -> None:
    def seen() -> list[str]:
        return [row["last_seen"] for name in ("sessions", "devices") for row in ctx.store.db.table(name).rows]

    before = seen()
    clock.move(minutes=4)
    client.get("/")
    assert seen() == before
    clock.move(hours=11)
    assert client.get("/").status_code == 200
    clock.move(hours=11)
    assert client.get("/").status_code == 200
    assert all(new > old for new, old in zip(seen(), before, strict=True))
    clock.move(days=29)
    assert client.get("/").status_code == 303


def test_a_full_disk_stops_no_reader(
    client: FlaskClient, clock: Any, ctx: Context, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sqlite3

    def full(*_: object) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr("intake.web.access_control.sessions.see", full)
    clock.move(hours=1)
    assert client.get("/").status_code == 200


def test_a_session_belongs_to_its_phone(app: Flask, ctx: Context, badge: Any) -> None:
    """A session's cookie on another phone, or on none, opens nothing."""
    mine, other = badge(ctx, name="Noor"), badge(ctx, name="Ida", phone="Back")
    for cookies in ({**mine, "device": other["device"]}, {"session": mine["session"]}):
        assert app.test_client(badge=cookies).get("/").status_code == 303


def test_the_board_says_who_is_there(client: FlaskClient) -> None:
    page = client.get("/").text
    assert "Noor Amari" in page and "switch" in page and 'action="/signout"' in page
