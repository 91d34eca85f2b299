"""Sessions: a new key at every sign-in, none taken from outside, all of them ended when they should be."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from argon2 import PasswordHasher
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from intake.counter.desk import Desk
from intake.store import attempts, devices, passwords, people, sessions
from intake.store.tokens import CODE_BYTES, TOKEN_BYTES, new_code, new_token

PASSWORD, PIN = "seven brass tuners", "471193"


@pytest.fixture(autouse=True)
def quick_hashes(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Argon2id with little work."""
    monkeypatch.setattr(passwords, "HASHER", PasswordHasher(1, 8, 1))
    passwords._nobody.cache_clear()
    yield
    passwords._nobody.cache_clear()


@pytest.fixture
def mara(desk: Desk) -> int:
    """The owner, with a password."""
    with desk.store.writing() as db:
        owner = people.owner(db)
        assert owner
        people.set_password(db, owner.id, passwords.hashed(PASSWORD), desk.now())
    return owner.id


def sign_in(client: FlaskClient, password: str = PASSWORD, **more: Any) -> TestResponse:
    return client.post("/signin/owner", data={"name": "Mara Lindt", "password": password}, **more)


def key_of(client: FlaskClient, **where: Any) -> str:
    cookie = client.get_cookie("session", **where)
    return cookie.value if cookie else ""


def test_a_key_planted_before_signing_in_is_not_taken_up(app: Flask, desk: Desk, mara: int) -> None:
    """Session fixation: what an attacker put into the browser opens nothing afterwards."""
    victim = app.test_client(badge={"session": "planted-by-somebody-else"})
    assert sign_in(victim).status_code == 303
    assert key_of(victim) not in ("", "planted-by-somebody-else")
    assert app.test_client(badge={"session": "planted-by-somebody-else"}).get("/").status_code == 303


def test_each_sign_in_gives_another_key_and_ends_the_one_before(app: Flask, desk: Desk, mara: int) -> None:
    client, keys = app.test_client(badge={}), []
    for _ in range(3):
        assert sign_in(client).status_code == 303
        keys.append(key_of(client))
    assert len(set(keys)) == 3
    living = [key for key in keys if sessions.living(desk.store.db, key, desk.now())]
    assert living == keys[-1:]


def test_signing_out_leaves_a_key_that_opens_nothing(app: Flask, mara: int) -> None:
    client = app.test_client(badge={})
    sign_in(client)
    key = key_of(client)
    assert client.post("/signout").status_code == 303 and key_of(client) == ""
    assert app.test_client(badge={"session": key}).get("/people").status_code == 303


def test_everywhere_at_once(app: Flask, desk: Desk, mara: int) -> None:
    """The owner's new password ends every other session of theirs; a new PIN, being turned off and a
    withdrawn phone end those of staff."""
    first, second = app.test_client(badge={}), app.test_client(badge={})
    for client in (first, second):
        sign_in(client)
    new = {"password": "a brass band marching", "again": "a brass band marching", "old": PASSWORD}
    assert first.post("/people/password", data=new).status_code == 303
    assert (first.get("/people").status_code, second.get("/people").status_code) == (200, 303)


@pytest.mark.parametrize("how", ["a new PIN", "turned off", "phone withdrawn"])
def test_staff_are_out_at_once(app: Flask, desk: Desk, badge: Any, how: str) -> None:
    cookies = badge(desk, "counter", "Ida Moreau", "Back")
    client = app.test_client(badge=cookies)
    assert client.get("/").status_code == 200
    with desk.store.writing() as db:
        ida, phone = people.named(db, "Ida Moreau"), devices.with_token(db, cookies["device"])
        assert ida and phone
        if how == "a new PIN":
            people.set_pin(db, ida.id, passwords.hashed(PIN), desk.now())
        elif how == "turned off":
            people.set_active(db, ida.id, False, desk.now())
        else:
            devices.revoke(db, phone.id, desk.now())
    assert client.get("/").status_code == 303
    assert client.post("/signout").status_code == 303


@pytest.mark.parametrize("secure", [True, False])
def test_cookies_are_sent_nowhere_else(app: Flask, mara: int, secure: bool) -> None:
    """Over https with the prefix that binds them to this host; never readable by script, never cross-site."""
    base = "https://localhost" if secure else "http://localhost"
    answer = sign_in(app.test_client(badge={}), base_url=base)
    (line,) = [value for name, value in answer.headers if name == "Set-Cookie"]
    parts = {part.strip().lower() for part in line.split(";")[1:]}
    assert {"httponly", "samesite=strict", "path=/"} <= parts and not any("domain" in part for part in parts)
    assert line.startswith("__Host-session=" if secure else "session=")
    assert ("secure" in parts) is secure
    assert len(line.split(";")[0]) < 4096


def test_keys_have_enough_chance_in_them() -> None:
    """192 bits for cookies and links, 128 for a code that lives ten minutes, from the system's generator."""
    assert (TOKEN_BYTES * 8, CODE_BYTES * 8) == (192, 128)
    assert len({new_token() for _ in range(200)} | {new_code() for _ in range(200)}) == 400
    assert len(new_token()) == 32 and len(new_code()) == 26


def test_nobody_locks_the_owner_out_from_elsewhere_for_good(
    app: Flask, desk: Desk, mara: int, clock: Any
) -> None:
    """Wrong passwords lock the name for an hour at most, wherever they come from; the shop's own computer
    can open it at once (`tallyfret staff`), and so can waiting."""
    stranger = app.test_client(badge={})
    for _ in range(attempts.MOST * 40):
        sign_in(stranger, "wrong one", environ_base={"REMOTE_ADDR": "203.0.113.9"})
        clock.move(seconds=30)
    clock.move(hours=1, seconds=1)
    assert sign_in(app.test_client(badge={})).status_code == 303


def test_a_code_is_used_up_by_one_of_many(app: Flask, desk: Desk, mara: int) -> None:
    with desk.store.writing() as db:
        code = devices.offer(db, mara, desk.now())
    answers = [
        app.test_client(badge={}).post("/enrol", data={"code": code, "name": f"P{number}"}).status_code
        for number in range(4)
    ]
    assert answers == [303, 410, 410, 410]
    wrong = [
        app.test_client(badge={}).post("/enrol", data={"code": new_code(), "name": "x"}) for _ in range(20)
    ]
    assert {answer.status_code for answer in wrong} == {410}


def test_nobody_is_signed_in_by_a_session_of_the_future_or_of_nowhere(app: Flask, desk: Desk) -> None:
    for key in ("", "null", "0", "' or 1=1 --", "x" * 4000, "é", new_token()):
        assert app.test_client(badge={"session": key, "device": key}).get("/").status_code == 303, key
