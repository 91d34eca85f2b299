"""The first start, the owner's page, and the phones that it enrols and withdraws."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from intake.app import create_app
from intake.config import Settings, demo_book
from intake.services.context import Context
from intake.store import devices, passwords, people

PASSWORD = "seven brass tuners"
SETUP = {"name": "Mara Lindt", "password": PASSWORD, "again": PASSWORD, "next": "/people"}

CHOSEN_ROLE = r'<input checked id="role-\d"[^>]* value="(\w+)"'


@pytest.fixture
def fresh(tmp_path: Any, clock: Any) -> Any:
    """A shop that nobody has opened yet."""
    app = create_app(Settings(tmp_path / "fresh", demo_book(), clock))
    yield app
    app.extensions["context"].store.close()


@pytest.fixture
def owner(app: Flask, ctx: Context, badge: Any) -> FlaskClient:
    """A phone with the owner signed in."""
    return app.test_client(badge=badge(ctx, "owner"))


def link(app: Flask) -> str:
    """What the terminal shows, without the machine."""
    return f"/setup?code={app.config['SETUP_CODE']}"


def filled_in(app: Flask) -> dict[str, str]:
    """The form of the first start as its page sends it."""
    return SETUP | {"code": app.config["SETUP_CODE"]}


def offered(owner: FlaskClient, base: str = "http://localhost") -> tuple[str, TestResponse]:
    """The address in the QR code, and the page that shows it."""
    page = owner.post("/people/phones", base_url=base)
    found = re.search(r'class="address" href="([^"]+)"', page.text)
    assert found
    return found[1], page


def enrol(client: FlaskClient, address: str, name: str = "Back room") -> TestResponse:
    code = address.partition("code=")[2]
    return client.post("/enrol", data={"code": code, "name": name})


# The first start


def test_the_first_start_makes_the_owner_and_nothing_else(fresh: Flask) -> None:
    client = fresh.test_client()
    for address in ("/", "/walkin", "/people"):
        assert client.get(address).headers["Location"] == "/setup"
    page = client.get(link(fresh)).text
    assert 'autocomplete="new-password"' in page and "15 or more" in page and "onpaste" not in page
    answer = client.post("/setup", data=filled_in(fresh))
    assert (answer.status_code, answer.headers["Location"]) == (303, "/people")
    assert client.get("/people").status_code == 200
    kept = people.owner(fresh.extensions["context"].store.db)
    assert kept and passwords.matches(kept.password_hash, PASSWORD)
    again = fresh.test_client().post("/setup", data=filled_in(fresh) | {"name": "Eve"})
    assert again.headers["Location"] == "/signin"
    assert fresh.test_client().get(link(fresh)).headers["Location"] == "/signin"


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"password": "seven77", "again": "seven77"}, "at least 8"),
        ({"again": "seven brass tunes"}, "not the same"),
        ({"name": "  "}, "name"),
        ({"password": "x" * 1001, "again": "x" * 1001}, "longer"),
    ],
)
def test_what_the_set_up_refuses(fresh: Flask, wrong: dict[str, str], says: str) -> None:
    answer = fresh.test_client().post("/setup", data=filled_in(fresh) | wrong)
    assert answer.status_code == 422 and says in answer.text
    assert people.owner(fresh.extensions["context"].store.db) is None


@pytest.mark.parametrize(
    "elsewhere",
    [
        {"environ_overrides": {"REMOTE_ADDR": "192.168.1.7"}},
        {"base_url": "http://192.168.1.5:8642"},
        {"base_url": "http://shop.example"},
        {"headers": {"X-Forwarded-For": "203.0.113.5"}},
        {"headers": {"Forwarded": "for=203.0.113.5"}},
    ],
)
def test_only_the_machine_itself_can_set_up(fresh: Flask, elsewhere: dict[str, Any]) -> None:
    """Not from the network, not through a proxy on this machine, not by a name that was pointed here."""
    client = fresh.test_client()
    assert client.get(link(fresh), **elsewhere).status_code == 403
    assert client.post("/setup", data=filled_in(fresh), **elsewhere).status_code == 403
    assert client.get("/", **elsewhere).headers["Location"].startswith("/signin")
    assert people.owner(fresh.extensions["context"].store.db) is None


def test_a_browser_that_names_no_page_can_set_up(fresh: Flask) -> None:
    """Our own pages have browsers send no referrer, and so `Origin: null` with a form."""
    headers = {"Origin": "null", "Sec-Fetch-Site": "same-origin"}

    assert fresh.test_client().post("/setup", data=filled_in(fresh), headers=headers).status_code == 303


def test_ipv6_s_loopback_is_this_machine_too(fresh: Flask) -> None:
    answer = fresh.test_client().get(
        link(fresh), base_url="http://[::1]:8642", environ_overrides={"REMOTE_ADDR": "::1"}
    )
    assert 'name="password"' in answer.text


@pytest.mark.parametrize("code", ["", "a" * 26, "Ünsinn"])
def test_without_the_link_that_the_terminal_shows_nobody_can_set_up(fresh: Flask, code: str) -> None:
    """A proxy on this machine that names itself 127.0.0.1 and sets no header looks like its browser."""
    client = fresh.test_client()

    shown = client.get("/setup", query_string={"code": code})
    answer = client.post("/setup", data=SETUP | {"code": code})

    assert "tallyfret serve" in shown.text and 'name="password"' not in shown.text
    assert answer.status_code == 403
    assert people.owner(fresh.extensions["context"].store.db) is None


def test_the_link_may_be_pasted_into_the_page(fresh: Flask) -> None:
    whole = {"code": f" http://127.0.0.1:8642{link(fresh)} "}

    assert 'name="password"' in fresh.test_client().get("/setup", query_string=whole).text


# Phones


def test_a_code_enrols_one_phone(owner: FlaskClient, stranger: FlaskClient, app: Flask) -> None:
    address, page = offered(owner)
    assert address.startswith("http://localhost/enrol?code=")
    assert "<svg" in page.text and 'class="qr"' in page.text and "<title>" in page.text
    assert page.headers["Cache-Control"] == "no-store"
    assert stranger.get(address).status_code == 200
    assert stranger.get(address).status_code == 200  # looking uses nothing up
    answer = enrol(stranger, address)
    assert (answer.status_code, answer.headers["Location"]) == (303, "/signin")
    (cookie,) = [c for c in answer.headers.getlist("Set-Cookie") if c.startswith("device=")]
    assert "HttpOnly" in cookie and "SameSite=Strict" in cookie
    assert "Who is there?" in stranger.get("/signin").text
    assert "Back room" in owner.get("/people").text
    other = app.test_client(badge={})
    assert enrol(other, address).status_code == 410
    assert other.get("/signin").text.count("not enrolled") == 1


def test_a_code_is_good_for_ten_minutes(owner: FlaskClient, stranger: FlaskClient, clock: Any) -> None:
    address, _ = offered(owner)
    clock.move(minutes=10)
    answer = stranger.get(address)
    assert answer.status_code == 410 and "works no longer" in answer.text
    assert enrol(stranger, address).status_code == 410
    assert enrol(stranger, "/enrol?code=").status_code == 410


def test_a_code_can_be_pasted_or_typed(owner: FlaskClient, stranger: FlaskClient) -> None:
    address, page = offered(owner)
    (words,) = re.findall(r'class="code-words">([^<]+)<', page.text)
    for typed in (address, words, words.upper().replace(" ", "-")):
        form = stranger.get("/enrol", query_string={"code": typed}).text
        assert f'name="code" type="hidden" value="{address.partition("code=")[2]}"' in form


def test_an_address_of_this_machine_alone_says_so(owner: FlaskClient, app: Flask) -> None:
    assert "works only on this machine" in offered(owner)[1].text
    app.config["ORIGIN"] = "https://192.168.1.5:8643"
    address, page = offered(owner)
    assert address.startswith("https://192.168.1.5:8643/enrol?code=")
    assert "works only on this machine" not in page.text


@pytest.mark.parametrize("name", ["", "   ", "x" * 61])
def test_a_phone_needs_a_name_and_the_code_stays_good(
    owner: FlaskClient, stranger: FlaskClient, name: str
) -> None:
    address, _ = offered(owner)
    assert enrol(stranger, address, name).status_code == 422
    assert enrol(stranger, address).status_code == 303


def test_a_phone_enrolled_anew_is_one_phone(owner: FlaskClient, stranger: FlaskClient, ctx: Context) -> None:
    enrol(stranger, offered(owner)[0], "Old name")
    enrol(stranger, offered(owner)[0], "New name")
    in_use = [phone.name for phone in devices.every(ctx.store.db) if not phone.revoked_at]
    assert "New name" in in_use and "Old name" not in in_use


def test_enrolling_signs_the_owner_out_of_what_becomes_a_shared_phone(owner: FlaskClient) -> None:
    enrol(owner, offered(owner)[0])
    assert owner.get("/people").status_code == 303


def test_a_withdrawn_phone_can_send_nothing_and_says_why(
    owner: FlaskClient, client: FlaskClient, phone: Any, ticket: str, ctx: Context
) -> None:
    assert phone.save(ticket, "neck", [("relief", "0.008 in")], key="a").status_code == 200
    number = next(one.id for one in devices.every(ctx.store.db) if one.name == "Front" and one.id == 1)
    owner.post(f"/people/phones/{number}/revoke")
    for key in ("a", "b"):  # what it sent before is not told again either
        answer = phone.save(ticket, "neck", [("relief", "0.008 in")], key=key)
        assert (answer.status_code, answer.headers["Revoked"]) == (401, "yes")
        assert "withdrawn" in answer.text and "Saved-Key" not in answer.headers
    page = client.get("/signin").text
    assert "withdrawn this phone" in page and "data-wipe" in page and "data-export" in page
    assert "Withdrawn phones" in owner.get("/people").text
    assert owner.post("/people/phones/999/revoke").status_code == 404
    assert owner.post("/people/phones/1/paint").status_code == 404


# Staff


def test_the_owner_adds_staff_who_can_sign_in(owner: FlaskClient, app: Flask, ctx: Context) -> None:
    owner.post("/people/staff", data={"name": "Ida Moreau", "role": "bench", "pin": "2718"})
    ida = people.named(ctx.store.db, "Ida Moreau")
    assert ida and ida.role == "bench"
    phone = app.test_client(badge={"device": app.config["BADGE"]["device"]})
    assert phone.post(f"/signin/{ida.id}", data={"pin": "2718"}).status_code == 303
    owner.post(f"/people/staff/{ida.id}/pin", data={"pin": "314159"})
    assert phone.get("/").status_code == 303  # the old PIN's session is over
    assert phone.post(f"/signin/{ida.id}", data={"pin": "2718"}).status_code == 401
    assert phone.post(f"/signin/{ida.id}", data={"pin": "314159"}).status_code == 303
    owner.post(f"/people/staff/{ida.id}/off")
    assert phone.get("/").status_code == 303
    assert "Ida" not in phone.get("/signin").text
    owner.post(f"/people/staff/{ida.id}/on")
    assert phone.post(f"/signin/{ida.id}", data={"pin": "314159"}).status_code == 303


@pytest.mark.parametrize(
    ("form", "status"),
    [
        ({"name": "Ida", "role": "bench", "pin": "123"}, 422),
        ({"name": "Ida", "role": "bench", "pin": "12345x"}, 422),
        ({"name": "noor AMARI", "role": "bench", "pin": "1234"}, 422),
        ({"name": "", "role": "bench", "pin": "1234"}, 422),
        ({"name": "Ida", "role": "owner", "pin": "1234"}, 422),
        ({"name": "Ida", "pin": "1234"}, 422),
    ],
)
def test_what_is_no_member_of_staff(
    owner: FlaskClient, client: FlaskClient, ctx: Context, form: dict[str, str], status: int
) -> None:
    before = people.everybody(ctx.store.db)
    answer = owner.post("/people/staff", data=form)
    assert answer.status_code == status
    assert people.everybody(ctx.store.db) == before


def test_a_refused_form_keeps_the_name_and_the_role(owner: FlaskClient) -> None:
    answer = owner.post("/people/staff", data={"name": "Ida Moreau", "role": "bench", "pin": "27"})
    assert answer.status_code == 422 and 'value="Ida Moreau"' in answer.text
    assert re.findall(CHOSEN_ROLE, answer.text) == ["bench"]
    assert re.findall(CHOSEN_ROLE, owner.get("/people").text) == ["counter"]


def test_nobody_turns_the_owner_off(owner: FlaskClient, ctx: Context) -> None:
    mara = people.owner(ctx.store.db)
    assert mara
    for what in ("off", "unlock", "pin"):
        assert owner.post(f"/people/staff/{mara.id}/{what}", data={"pin": "1234"}).status_code == 404
    assert owner.get("/people").status_code == 200


def test_a_new_password_ends_the_owner_s_other_sessions(
    owner: FlaskClient, app: Flask, ctx: Context, badge: Callable[..., dict[str, str]]
) -> None:
    mara = people.owner(ctx.store.db)
    assert mara
    with ctx.store.writing() as db:
        people.set_password(db, mara.id, passwords.hashed(PASSWORD), ctx.now())
    mine, other = (app.test_client(badge=badge(ctx, "owner")) for _ in range(2))
    new = {"password": "another long one", "again": "another long one"}
    assert mine.post("/people/password", data={"old": "wrong", **new}).status_code == 422
    for _ in range(9):  # the right one costs no tries, whatever is wrong with the new one
        told = mine.post("/people/password", data={"old": PASSWORD, **new, "again": "x"})
        assert told.status_code == 422 and "not the same" in told.text
    assert other.get("/people").status_code == 200
    assert mine.post("/people/password", data={"old": PASSWORD, **new}).status_code == 303
    assert (mine.get("/people").status_code, other.get("/people").status_code) == (200, 303)


def test_names_are_shown_as_text(owner: FlaskClient) -> None:
    name = '<b>"Ida"</b> {{ 7*7 }} \''
    owner.post("/people/staff", data={"name": name, "role": "bench", "pin": "2718"})
    page = owner.get("/people").text
    assert "<b>&#34;Ida&#34;" not in page and "&lt;b&gt;&#34;Ida&#34;&lt;/b&gt; {{ 7*7 }} &#39;" in page


def test_the_pages_hold_nothing_inline(
    owner: FlaskClient, client: FlaskClient, stranger: FlaskClient
) -> None:
    address, page = offered(owner)
    pages = [page.text, owner.get("/people").text, stranger.get(address).text]
    pages += [who.get("/signin").text for who in (client, stranger)]
    for text in pages:
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|<script(?![^>]*\ssrc=)|hx-on|javascript:", text)
