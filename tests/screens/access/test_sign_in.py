"""A name, a PIN, and what happens when it is wrong; the owner's password; sessions in cookies."""

from __future__ import annotations

import re
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from intake.services.context import Context
from intake.store import attempts, passwords, people

PIN, PASSWORD = "4711", "seven brass tuners"
SORRY = "That did not work."


@pytest.fixture
def staff(app: Flask, ctx: Context) -> dict[str, int]:
    """Name to number: Noor (counter) and Ida (bench) have the PIN, Mara (owner) the password."""
    with ctx.store.writing() as db:
        owner = people.owner(db)
        noor = people.named(db, "Noor Amari")
        assert owner and noor
        people.set_password(db, owner.id, passwords.hashed(PASSWORD), ctx.now())
        people.set_pin(db, noor.id, passwords.hashed(PIN), ctx.now())
        ida = people.add(db, "Ida Moreau", "bench", ctx.now(), pin_hash=passwords.hashed("271828"))
    return {"Noor": noor.id, "Ida": ida, "Mara": owner.id}


@pytest.fixture
def enrolled(app: Flask, staff: dict[str, int]) -> FlaskClient:
    """A phone that the shop knows, nobody signed in."""
    return app.test_client(badge={"device": app.config["BADGE"]["device"]})


def give_pin(client: FlaskClient, number: int, pin: str = PIN, next: str = "/") -> TestResponse:
    return client.post(f"/signin/{number}", data={"pin": pin, "next": next})


def give_password(client: FlaskClient, password: str = PASSWORD, name: str = "mara lindt") -> TestResponse:
    return client.post("/signin/owner", data={"name": name, "password": password})


def test_one_tap_and_a_pin(enrolled: FlaskClient, staff: dict[str, int]) -> None:
    page = enrolled.get("/signin?next=/walkin").text
    links = re.findall(r'href="(/signin/\d+\?next=/walkin)">([^<]+)<', page)
    assert [name for _, name in links] == ["Ida Moreau", "Noor Amari"]
    pad = enrolled.get(links[1][0]).text
    assert 'name="pin"' in pad and len(re.findall('data-key="[0-9]"', pad)) == 10
    answer = give_pin(enrolled, staff["Noor"], next="/walkin")
    assert (answer.status_code, answer.headers["Location"]) == (303, "/walkin")
    assert enrolled.get("/walkin").status_code == 200
    assert "Noor Amari" in enrolled.get("/").text


def test_a_stranger_sees_no_names(stranger: FlaskClient, staff: dict[str, int]) -> None:
    page = stranger.get("/signin").text
    assert "not enrolled" in page
    assert not any(name in page for name in ("Noor", "Ida", "Mara"))
    assert give_pin(stranger, staff["Noor"]).status_code == 401
    assert stranger.get("/").status_code == 303


def test_whatever_is_wrong_the_sentence_is_the_same(
    app: Flask, enrolled: FlaskClient, stranger: FlaskClient, staff: dict[str, int], ctx: Context
) -> None:
    with ctx.store.writing() as db:
        gone = people.add(db, "Gone", "counter", ctx.now(), pin_hash=passwords.hashed(PIN))
        people.set_active(db, gone, False, ctx.now())
    locked = staff["Ida"]
    with ctx.store.writing() as db:
        for _ in range(3):
            attempts.begin(db, [("person", str(locked))], ctx.now())
    answers = {
        "wrong PIN": give_pin(enrolled, staff["Noor"], "0000"),
        "no PIN": give_pin(enrolled, staff["Noor"], ""),
        "too long": give_pin(enrolled, staff["Noor"], "9" * 5000),
        "nobody": give_pin(enrolled, 999),
        "turned off": give_pin(app.test_client(badge=app.config["BADGE"]), gone),
        "the owner has no PIN": give_pin(enrolled, staff["Mara"]),
    }
    attempts.clear(ctx.store.db, [("device", "1")])
    answers |= {
        "waiting, though right": give_pin(enrolled, locked, "271828"),
        "no phone": give_pin(stranger, staff["Noor"]),
        "wrong password": give_password(stranger, "wrong"),
        "unknown name": give_password(stranger, name="Somebody"),
        "staff have no password": give_password(stranger, PIN, name="Noor Amari"),
    }
    for what, answer in answers.items():
        assert answer.status_code == 401, what
        (said,) = re.findall(r'role="alert">([^<]+)<', answer.text)
        assert said.startswith(SORRY), what
        assert "session" not in answer.headers.get("Set-Cookie", ""), what
    assert len({re.findall(r'role="alert">([^<]+)<', answer.text)[0] for answer in answers.values()}) == 1


def test_wrong_pins_slow_down_lock_and_open_after_an_hour(
    enrolled: FlaskClient, staff: dict[str, int], clock: Any, ctx: Context
) -> None:
    noor = staff["Noor"]
    for _ in range(3):
        give_pin(enrolled, noor, "0000")
    assert give_pin(enrolled, noor).status_code == 401  # right, but too soon
    clock.move(seconds=5)
    for wait in (15, 30, 60, 120, 0):
        give_pin(enrolled, noor, "0000")
        clock.move(seconds=wait)
    assert attempts.locked(ctx.store.db, ctx.now()) == {("person", str(noor)), ("device", "1")}
    clock.move(minutes=59)
    assert give_pin(enrolled, noor).status_code == 401
    clock.move(minutes=1)
    assert give_pin(enrolled, noor).status_code == 303
    assert ctx.store.db.table("attempts").count == 0


def test_the_owner_unlocks(
    app: Flask, enrolled: FlaskClient, staff: dict[str, int], ctx: Context, clock: Any
) -> None:
    noor, owner = staff["Noor"], app.test_client(badge={})
    for _ in range(8):
        give_pin(enrolled, noor, "0000")
        clock.move(minutes=3)
    assert give_pin(enrolled, noor).status_code == 401
    assert give_password(owner).status_code == 303
    assert owner.get("/people").text.count("Unlock") == 2
    owner.post(f"/people/staff/{noor}/unlock")
    assert give_pin(enrolled, noor).status_code == 401  # the phone is still locked
    owner.post("/people/phones/1/unlock")
    assert give_pin(enrolled, noor).status_code == 303


def test_many_guesses_at_once_are_as_few_as_one_after_the_other(
    app: Flask, staff: dict[str, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    looked_at: list[str] = []

    def look(kept: str, secret: str) -> bool:
        looked_at.append(secret)
        return False

    monkeypatch.setattr("intake.screens.access.sign_in.passwords.matches", look)
    badge = {"device": app.config["BADGE"]["device"]}

    def guess(number: int) -> int:
        return give_pin(app.test_client(badge=badge), staff["Noor"], f"{number:04}").status_code

    with ThreadPoolExecutor(8) as threads:
        answers = set(threads.map(guess, range(40)))

    assert answers <= {401, 503}  # 503: too many at once, not looked at and not counted
    assert len(looked_at) == 3


def test_a_switch_in_the_middle_keeps_the_ticket(
    app: Flask, enrolled: FlaskClient, staff: dict[str, int], ticket: str, ctx: Context
) -> None:
    give_pin(enrolled, staff["Noor"])
    before = enrolled.get_cookie("session")
    form = {"customer_name": "Ines", "based_on": "0"}
    headers = {"Idempotency-Key": "a", "Device": "d"}
    enrolled.post(f"/tickets/{ticket}/steps/customer", data=form, headers=headers)
    place = f"/tickets/{ticket}#neck"
    answer = give_pin(enrolled, staff["Ida"], "271828", next=place)
    assert (answer.status_code, answer.headers["Location"]) == (303, place)
    assert "Ines" in enrolled.get(f"/tickets/{ticket}").text
    assert "Ida Moreau" in enrolled.get("/").text
    assert before
    old = {"device": app.config["BADGE"]["device"], "session": before.value}
    assert app.test_client(badge=old).get("/").status_code == 303  # Noor's session is over


def test_signing_out_ends_the_session_in_the_store(
    app: Flask, enrolled: FlaskClient, staff: dict[str, int]
) -> None:
    give_pin(enrolled, staff["Noor"])
    held = enrolled.get_cookie("session")
    assert held and enrolled.get("/").status_code == 200
    assert enrolled.post("/signout").headers["Location"] == "/signin"
    assert enrolled.get_cookie("session") is None
    again = app.test_client(badge={"device": app.config["BADGE"]["device"], "session": held.value})
    assert again.get("/").status_code == 303


def test_the_owner_s_password_opens_any_browser(stranger: FlaskClient, staff: dict[str, int]) -> None:
    assert give_password(stranger).status_code == 303
    assert stranger.get("/people").status_code == 200
    assert stranger.get("/").status_code == 200


@pytest.mark.parametrize(("base", "prefix"), [("http://localhost", ""), ("https://localhost", "__Host-")])
def test_cookies_are_for_this_host_and_no_script(
    app: Flask, staff: dict[str, int], base: str, prefix: str
) -> None:
    client = app.test_client(badge={f"{prefix}device": app.config["BADGE"]["device"]})
    answer = client.post(f"/signin/{staff['Noor']}", data={"pin": PIN}, base_url=base)
    assert answer.status_code == 303
    set_cookies = answer.headers.getlist("Set-Cookie")
    assert {cookie.split("=")[0] for cookie in set_cookies} == {f"{prefix}session", f"{prefix}device"}
    for cookie in set_cookies:
        rest = cookie.split("; ")
        assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= set(rest) and "Domain" not in cookie
        assert ("Secure" in rest) is bool(prefix)


def test_over_https_a_plain_cookie_counts_for_nothing(app: Flask) -> None:
    assert app.test_client().get("/", base_url="https://localhost").status_code == 303


def test_without_an_owner_nobody_can_be_let_in(ctx: Context, app: Flask, stranger: FlaskClient) -> None:
    with ctx.store.writing() as db:
        for table in ("sessions", "devices", "enrolments", "people"):
            db.table(table).delete_where()
    assert stranger.get("/").headers["Location"] == "/setup"
    page = stranger.get("/signin", base_url="http://192.168.1.5:8642").text
    assert "no owner yet" in page
