"""One step's save: what is answered, and what is stored."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
from flask.testing import FlaskClient
from werkzeug.datastructures import MultiDict

from intake.book.answers import to_fields
from intake.config import demo_book
from intake.services.context import Context
from intake.store import events, tickets
from tests.depth import some_quick

RELIEF = [("relief", "0.008 in")]
WALKINS = sorted((demo_book() / "walkins").glob("*.toml"))


Held = Callable[[str], dict[str, str]]


def test_a_save_opens_the_ticket_and_repeats_its_key(
    phone: Any, ticket: str, ctx: Context, held: Held
) -> None:
    answer = phone.save(ticket, "neck", RELIEF, key="k-1")
    assert (answer.status_code, answer.headers["Saved-Key"]) == (200, "k-1")
    assert held(ticket) == {"relief": "0.008 in"}
    found = tickets.find(ctx.store.db, ticket)
    assert found is not None and found.number == 1
    assert [event["what"] for event in events.of_ticket(ctx.store.db, ticket)] == [
        "ticket opened",
        "step saved",
    ]


def test_a_refused_answer_is_stored_with_its_sentence(phone: Any, ticket: str, held: Held) -> None:
    answer = phone.save(ticket, "neck", [("relief", "8 inches"), ("twist", "sideways")])
    assert answer.status_code == 422
    assert "Saved-Key" in answer.headers
    assert "sideways" in answer.text
    assert held(ticket) == {"relief": "8 inches", "twist": "sideways"}


def test_only_the_step_s_own_fields_are_taken(phone: Any, ticket: str, ctx: Context, held: Held) -> None:
    others = [("customer_name", "Somebody"), ("state", "accepted"), ("number", "7"), ("neck", "x")]
    phone.save(ticket, "neck", [*RELIEF, *others])
    assert held(ticket) == {"relief": "0.008 in"}
    found = tickets.find(ctx.store.db, ticket)
    assert found is not None and (found.name, found.state) == ("", "started")


def test_the_board_s_words_follow_the_answers(phone: Any, ticket: str, ctx: Context) -> None:
    phone.save(ticket, "customer", [("customer_name", "Ines Falk"), ("customer_phone", "555 0101")])
    phone.save(ticket, "instrument", [("family", "steel-string"), ("serial", "A17")])
    found = tickets.find(ctx.store.db, ticket)
    assert found is not None
    assert (found.name, found.phone, found.family, found.serial) == (
        "Ines Falk",
        "555 0101",
        "steel-string",
        "A17",
    )
    assert found.total is not None and found.ready is not None


def test_a_save_without_javascript_s_key_is_stored_too(client: FlaskClient, ticket: str, held: Held) -> None:
    answer = client.post(f"/tickets/{ticket}/steps/neck", data={"relief": "0.008 in"})
    assert answer.status_code == 200
    assert "Saved-Key" not in answer.headers
    assert held(ticket) == {"relief": "0.008 in"}


@pytest.mark.parametrize("passed", ["", "not_assessed", "all_sound"])
def test_how_a_step_was_passed_is_kept(phone: Any, ticket: str, held: Held, passed: str) -> None:
    phone.save(ticket, "neck", RELIEF, passed=passed)
    assert held(ticket).get("passed.neck", "") == passed


@pytest.mark.parametrize(
    "form", [{"passed": "maybe"}, {"based_on": "x"}, {"based_on": "-1"}, {"based_on": "9" * 40}]
)
def test_what_the_page_never_sends_is_refused(client: FlaskClient, ticket: str, form: dict[str, str]) -> None:
    answer = client.post(f"/tickets/{ticket}/steps/neck", data=form, headers={"Idempotency-Key": "k"})
    assert answer.status_code == 400
    assert "Saved-Key" not in answer.headers


def test_unknown_steps_and_ids_are_not_found(phone: Any, ticket: str, client: FlaskClient) -> None:
    refused = phone.save(ticket, "nostril")
    assert refused.status_code == 404 and "no step “nostril” any more" in refused.text
    assert "still on this phone" in refused.text
    assert phone.save("not-an-id", "neck").status_code == 404
    assert client.get("/tickets/not-an-id").status_code == 404


def test_the_page_shows_what_was_saved(phone: Any, ticket: str, client: FlaskClient) -> None:
    phone.save(ticket, "customer", [("customer_name", '"><b>{{ 7919*7907 }}')])
    page = client.get(f"/tickets/{ticket}").text
    assert "&#34;&gt;&lt;b&gt;{{ 7919*7907 }}" in page
    assert "<b>{{" not in page and "62615533" not in client.get("/").text


def test_an_id_made_offline_shows_the_blank_wizard(client: FlaskClient, ticket: str, ctx: Context) -> None:
    answer = client.get(f"/tickets/{ticket}")
    assert answer.status_code == 200
    assert ticket in answer.text
    assert tickets.find(ctx.store.db, ticket) is None


def test_the_blank_wizard_is_the_same_for_everyone(client: FlaskClient, phone: Any, ticket: str) -> None:
    before = client.get("/walkin").text
    phone.save(ticket, "customer", [("customer_name", "Ines Falk")])
    assert client.get("/walkin").text == before
    assert "Ines" not in before


def test_the_summary_needs_the_family(phone: Any, ticket: str, client: FlaskClient) -> None:
    assert client.get(f"/tickets/{ticket}/summary").status_code == 200
    phone.save(ticket, "instrument", [("family", "steel-string"), ("string_count", "6")])
    phone.save(ticket, "player", [("complaints", "restring")])
    assert "restring" in client.get(f"/tickets/{ticket}/summary").text.lower()


def test_a_price_that_fails_costs_nobody_what_they_typed(
    phone: Any, ticket: str, held: Held, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fail(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("intake.services.estimates.make_quote", fail)
    answer = phone.save(ticket, "instrument", [("family", "steel-string")])
    assert answer.status_code == 200
    assert held(ticket) == {"family": "steel-string"}
    assert "no price" in caplog.text


def test_ids_of_tickets_are_version_7(client: FlaskClient) -> None:
    answer = client.post("/walkin", data={"customer_name": "Ines Falk"})
    assert UUID(answer.headers["Location"].rsplit("/", 1)[1]).version == 7


def test_none_beside_other_answers_is_kept_and_refused(phone: Any, ticket: str, client: FlaskClient) -> None:
    frets = [
        ("loose_frets", "none"),
        ("loose_frets", "3"),
        ("fret_wear", "none"),
        ("fret_wear.3", "0.002 in"),
    ]
    assert phone.save(ticket, "frets", frets).status_code == 422
    assert client.get(f"/tickets/{ticket}").status_code == 200


@pytest.mark.parametrize("path", some_quick(WALKINS, every=8), ids=lambda path: path.stem)
def test_every_sample_fills_the_wizard(client: FlaskClient, ctx: Context, ticket: str, path: Path) -> None:
    pairs = to_fields(ctx.book, tomllib.loads(path.read_text("utf-8"))["answers"])

    saved = client.post(f"/tickets/{ticket}", data=MultiDict([*pairs, ("go", "save")]))

    assert saved.status_code == 303
    assert client.get(f"/tickets/{ticket}").status_code == 200


def test_the_board_lists_and_filters(phone: Any, client: FlaskClient) -> None:
    for name in ("Ines Falk", "Tomas Reyl"):
        phone.save(str(uuid4()), "customer", [("customer_name", name)])
    page = client.get("/").text
    assert page.index("Tomas Reyl") < page.index("Ines Falk")
    found = client.get("/?q=ines").text
    assert "Ines Falk" in found and "Tomas Reyl" not in found


def test_ping_is_never_stored(client: FlaskClient) -> None:
    answer = client.get("/ping")
    assert (answer.status_code, answer.headers["Cache-Control"]) == (204, "no-store")
