"""A request that comes again, at the same time, or with a key used before."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from typing import Any

from flask import Flask
from flask.testing import FlaskClient

from intake.services.context import Context
from intake.store import edits, tickets

FIELDS = [("relief", "0.008 in")]


def test_the_second_time_gets_the_first_answer(phone: Any, ticket: str, ctx: Context) -> None:
    first = phone.save(ticket, "neck", FIELDS, key="k", based_on=0)
    phone.save(ticket, "neck", [("relief", "0.012 in")])
    again = phone.save(ticket, "neck", FIELDS, key="k", based_on=0)
    assert (again.status_code, again.data, again.headers["Saved-Key"]) == (200, first.data, "k")
    assert again.mimetype == first.mimetype
    assert edits.standing(ctx.store.db, ticket)["relief"].value == "0.012 in"


def test_answers_422_and_412_are_repeated_too(phone: Any, other_phone: Any, ticket: str) -> None:
    assert [
        phone.save(ticket, "neck", [("relief", "x")], key="bad", based_on=0).status_code for _ in range(2)
    ] == [422] * 2
    assert [other_phone.save(ticket, "neck", FIELDS, key="late").status_code for _ in range(2)] == [412] * 2


def test_a_key_with_another_body_is_refused_without_an_echo(phone: Any, ticket: str, ctx: Context) -> None:
    phone.save(ticket, "neck", FIELDS, key="k", based_on=0)
    for other in (
        phone.save(ticket, "neck", [("relief", "0.009 in")], key="k", based_on=0),
        phone.save(ticket, "neck", FIELDS, key="k", passed="all_sound", based_on=0),
        phone.save(ticket, "action", FIELDS, key="k", based_on=0),
    ):
        assert other.status_code == 400
        assert "Saved-Key" not in other.headers
        assert other.mimetype == "text/plain"
    assert len(edits.of_ticket(ctx.store.db, ticket)) == 1


def test_the_same_entry_from_many_threads_acts_once(app: Flask, ticket: str, ctx: Context) -> None:
    start = threading.Barrier(10)

    def send(_: int) -> Any:
        start.wait()
        return app.test_client().post(
            f"/tickets/{ticket}/steps/neck", data=dict(FIELDS), headers={"Idempotency-Key": "k"}
        )

    with ThreadPoolExecutor(10) as threads:
        answers = list(threads.map(send, range(10)))
    kept = [answer for answer in answers if answer.status_code == 200]
    running = [answer for answer in answers if answer.status_code == 409]
    assert len(kept) + len(running) == 10 and kept
    assert len({answer.data for answer in kept}) == 1
    assert all("Saved-Key" not in answer.headers for answer in running)
    assert len(edits.of_ticket(ctx.store.db, ticket)) == 1
    assert len(tickets.board(ctx.store.db)) == 1


def test_a_key_under_way_is_answered_409(phone: Any, ticket: str, ctx: Context) -> None:
    ctx.running.add("k")
    answer = phone.save(ticket, "neck", FIELDS, key="k")
    assert (answer.status_code, "Saved-Key" in answer.headers) == (409, False)
    assert tickets.find(ctx.store.db, ticket) is None


def test_a_failed_request_leaves_neither_effect_nor_key(
    phone: Any, ticket: str, ctx: Context, monkeypatch: Any
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("half way")

    with monkeypatch.context() as patched:
        patched.setattr("intake.screens.wizard.steps.render_template", fail)
        answer = phone.save(ticket, "neck", FIELDS, key="k")
        assert (answer.status_code, "Saved-Key" in answer.headers) == (500, False)
    assert tickets.find(ctx.store.db, ticket) is None
    assert phone.save(ticket, "neck", FIELDS, key="k").status_code == 200


def test_the_hidden_field_is_a_key_too(client: FlaskClient) -> None:
    form = {"customer_name": "Ines Falk", "key": "from-the-form"}
    places = {client.post("/walkin", data=form).headers["Location"] for _ in range(2)}
    assert len(places) == 1


def test_a_key_that_no_page_made_is_refused(phone: Any, ticket: str) -> None:
    assert phone.save(ticket, "neck", FIELDS, key="x" * 201).status_code == 400
