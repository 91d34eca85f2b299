"""Sessions: a new key at every sign-in, none taken from outside, all of them ended when they should be."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from intake.services.context import Context
from intake.store import attempts, devices, passwords, people, sessions
from intake.store.timestamps import stamp
from intake.store.tokens import CODE_BYTES, TOKEN_BYTES, new_code, new_token

MINUTE = timedelta(minutes=1)
PASSWORD, PIN = "seven brass tuners", "471193"


@pytest.fixture
def mara(ctx: Context) -> int:
    """The owner, with a password."""
    with ctx.store.writing() as db:
        owner = people.owner(db)
        assert owner
        people.set_password(db, owner.id, passwords.hashed(PASSWORD), ctx.now())
    return owner.id


def sign_in(client: FlaskClient, password: str = PASSWORD, **more: Any) -> TestResponse:
    return client.post("/signin/owner", data={"name": "Mara Lindt", "password": password}, **more)


def key_of(client: FlaskClient, **where: Any) -> str:
    cookie = client.get_cookie("session", **where)
    return cookie.value if cookie else ""


def test_a_key_planted_before_signing_in_is_not_taken_up(app: Flask, ctx: Context, mara: int) -> None:
    """Session fixation: what an attacker put into the browser opens nothing afterwards."""
    victim = app.test_client(badge={"session": "planted-by-somebody-else"})
    assert sign_in(victim).status_code == 303
    assert key_of(victim) not in ("", "planted-by-somebody-else")
    assert app.test_client(badge={"session": "planted-by-somebody-else"}).get("/").status_code == 303


def test_each_sign_in_gives_another_key_and_ends_the_one_before(app: Flask, ctx: Context, mara: int) -> None:
    client, keys = app.test_client(badge={}), []
    for _ in range(3):
        assert sign_in(client).status_code == 303
        keys.append(key_of(client))
    assert len(set(keys)) == 3
    living = [key for key in keys if sessions.living(ctx.store.db, key, ctx.now())]
    assert living == keys[-1:]


def test_signing_out_leaves_a_key_that_opens_nothing(app: Flask, mara: int) -> None:
    client = app.test_client(badge={})
    sign_in(client)
    key = key_of(client)
    assert client.post("/signout").status_code == 303 and key_of(client) == ""
    assert app.test_client(badge={"session": key}).get("/people").status_code == 303


def test_everywhere_at_once(app: Flask, ctx: Context, mara: int) -> None:
    """The owner's new password ends every other session of theirs; a new PIN, being turned off and a
    withdrawn phone end those of staff."""
    first, second = app.test_client(badge={}), app.test_client(badge={})
    for client in (first, second):
        sign_in(client)
    new = {"password": "a brass band marching", "again": "a brass band marching", "old": PASSWORD}
    assert first.post("/people/password", data=new).status_code == 303
    assert (first.get("/people").status_code, second.get("/people").status_code) == (200, 303)


@pytest.mark.parametrize("how", ["a new PIN", "turned off", "phone withdrawn"])
def test_staff_are_out_at_once(app: Flask, ctx: Context, badge: Any, how: str) -> None:
    cookies = badge(ctx, "counter", "Ida Moreau", "Back")
    client = app.test_client(badge=cookies)
    assert client.get("/").status_code == 200
    with ctx.store.writing() as db:
        ida, phone = people.named(db, "Ida Moreau"), devices.with_token(db, cookies["device"])
        assert ida and phone
        if how == "a new PIN":
            people.set_pin(db, ida.id, passwords.hashed(PIN), ctx.now())
        elif how == "turned off":
            people.set_active(db, ida.id, False, ctx.now())
        else:
            devices.revoke(db, phone.id, ctx.now())
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
    app: Flask, ctx: Context, mara: int, clock: Any
) -> None:
    """Wrong passwords lock the name for an hour at most, wherever they come from; the shop's own computer
    can open it at once (`tallyfret staff`), and so can waiting."""
    stranger = app.test_client(badge={})
    for _ in range(attempts.MOST * 40):
        sign_in(stranger, "wrong one", environ_base={"REMOTE_ADDR": "203.0.113.9"})
        clock.move(seconds=30)
    clock.move(hours=1, seconds=1)
    assert sign_in(app.test_client(badge={})).status_code == 303


def wrong_passwords(app: Flask, address: str, tries: int) -> None:
    """So many in a row from that address, each as soon as it is looked at."""
    stranger = app.test_client(badge={})
    for _ in range(tries):
        sign_in(stranger, "wrong one", environ_base={"REMOTE_ADDR": address})


def test_wrong_passwords_elsewhere_lock_neither_another_address_nor_this_machine_nor_a_phone(
    app: Flask, ctx: Context, mara: int, clock: Any
) -> None:
    """ASVS 6.1.1: nobody is locked out on purpose. Seven from one address, one from another."""
    wrong_passwords(app, "203.0.113.9", 1)
    for _ in range(7):
        clock.move(minutes=3)
        wrong_passwords(app, "203.0.113.7", 1)

    device = {"device": app.config["BADGE"]["device"]}
    answers = [
        sign_in(app.test_client(badge={}), environ_base={"REMOTE_ADDR": "198.51.100.4"}),
        sign_in(app.test_client(badge={})),
        sign_in(app.test_client(badge=device), environ_base={"REMOTE_ADDR": "203.0.113.7"}),
    ]

    assert [answer.status_code for answer in answers] == [303, 303, 303]


def test_a_hundred_wrong_passwords_from_many_addresses_close_the_name_to_strangers_alone(
    app: Flask, ctx: Context, mara: int, clock: Any
) -> None:
    for number in range(attempts.MOST_OF_STRANGERS):
        wrong_passwords(app, f"203.0.113.{number}", 1)
    device = {"device": app.config["BADGE"]["device"]}

    answers = [
        sign_in(app.test_client(badge={}), environ_base={"REMOTE_ADDR": "198.51.100.4"}),
        sign_in(app.test_client(badge={})),
        sign_in(app.test_client(badge=device)),
    ]

    assert [answer.status_code for answer in answers] == [401, 303, 303]
    clock.move(hours=1, seconds=1)
    late = sign_in(app.test_client(badge={}), environ_base={"REMOTE_ADDR": "198.51.100.5"})
    assert late.status_code == 303


def test_an_address_is_locked_by_its_own_tries_whatever_names_they_name(
    app: Flask, ctx: Context, mara: int, clock: Any
) -> None:
    stranger, there = app.test_client(badge={}), {"REMOTE_ADDR": "2001:db8:0:7::1"}
    for number in range(attempts.MOST):
        form = {"name": f"Somebody {number}", "password": "wrong one"}
        stranger.post("/signin/owner", data=form, environ_base=there)
        clock.move(minutes=3)

    same_network = sign_in(stranger, environ_base={"REMOTE_ADDR": "2001:db8:0:7::ffff"})
    another = sign_in(stranger, environ_base={"REMOTE_ADDR": "2001:db8:0:8::1"})

    assert (same_network.status_code, another.status_code) == (401, 303)


def test_an_open_session_may_change_its_password_while_the_name_is_locked(
    app: Flask, ctx: Context, mara: int
) -> None:
    client = app.test_client(badge={})
    sign_in(client)
    with ctx.store.writing() as db:
        for _ in range(attempts.MOST_OF_STRANGERS):
            attempts.begin(db, [("stranger", str(mara))], ctx.now())
        for number in range(attempts.MOST):
            attempts.begin(db, [("person", str(mara))], ctx.now() + number * 3 * MINUTE)

    new = "three quiet brass saddles"
    answer = client.post("/people/password", data={"old": PASSWORD, "password": new, "again": new})

    assert answer.status_code == 303


def test_a_locked_name_costs_the_same_work_as_an_unknown_one(
    app: Flask, ctx: Context, mara: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """ASVS 6.3.8: the time an answer takes is mostly that of the hash."""
    until = stamp(ctx.now() + timedelta(minutes=30))
    with ctx.store.writing() as db:
        for kind in ("person", "stranger"):
            row = {"kind": kind, "about": str(mara), "count": 100, "last": until, "locked_until": until}
            db.table("attempts").upsert(row, pk=("kind", "about"))
    hashed: list[str] = []
    matches = passwords.matches

    def look(kept: str, secret: str) -> bool:
        hashed.append(secret)
        return matches(kept, secret)

    monkeypatch.setattr(passwords, "matches", look)

    for name, secret in (("Nobody", "one"), ("Mara Lindt", "two"), ("Mara Lindt", PASSWORD)):
        form = {"name": name, "password": secret}
        there = {"REMOTE_ADDR": f"203.0.113.{len(secret)}"}
        answer = app.test_client(badge={}).post("/signin/owner", data=form, environ_base=there)
        assert answer.status_code == 401

    assert hashed == ["one", "two", PASSWORD]


def test_refused_tries_are_written_down_without_the_address_also_while_a_lock_lasts(
    app: Flask, ctx: Context, mara: int, caplog: pytest.LogCaptureFixture
) -> None:
    """ASVS 16.3.3, and the promise that neither log nor events hold an address."""
    wrong_passwords(app, "203.0.113.77", 6)

    said = json.dumps(list(ctx.store.db.query("select * from events")))
    waited = [record for record in caplog.records if "has to wait" in record.getMessage()]
    assert len(waited) == 3 and all(record.fields["tried"] for record in waited)  # type: ignore[attr-defined]
    assert said.count("sign-in refused") == 3
    assert "203.0.113" not in said and "203.0.113" not in str([vars(record) for record in waited])


def test_a_code_is_used_up_by_one_of_many(app: Flask, ctx: Context, mara: int) -> None:
    with ctx.store.writing() as db:
        code = devices.offer(db, mara, ctx.now())
    answers = [
        app.test_client(badge={}).post("/enrol", data={"code": code, "name": f"P{number}"}).status_code
        for number in range(4)
    ]
    assert answers == [303, 410, 410, 410]
    wrong = [
        app.test_client(badge={}).post("/enrol", data={"code": new_code(), "name": "x"}) for _ in range(20)
    ]
    assert {answer.status_code for answer in wrong} == {410}


def test_nobody_is_signed_in_by_a_session_of_the_future_or_of_nowhere(app: Flask, ctx: Context) -> None:
    for key in ("", "null", "0", "' or 1=1 --", "x" * 4000, "é", new_token()):
        assert app.test_client(badge={"session": key, "device": key}).get("/").status_code == 303, key
