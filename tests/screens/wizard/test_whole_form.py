"""The wizard without JavaScript: one long form."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

from flask.testing import FlaskClient
from werkzeug.datastructures import MultiDict

from intake.services.context import Context
from intake.store import photos, steps, tickets


def test_a_walk_in_from_blank_form_to_quote(
    client: FlaskClient, sample: Callable[[str], Any], ctx: Context
) -> None:
    answer = client.post("/walkin", data=MultiDict([*sample("03"), ("go", "quote")]))
    assert answer.status_code == 303
    page = client.get(answer.headers["Location"])
    assert page.status_code == 200
    (ticket,) = tickets.board(ctx.store.db)
    assert answer.headers["Location"] == f"/tickets/{ticket.id}/quote"
    frozen = client.post(f"/tickets/{ticket.id}/quotes")
    assert client.get(frozen.headers["Location"]).status_code == 200


def test_saving_comes_back_to_the_ticket(client: FlaskClient, ticket: str) -> None:
    answer = client.post(f"/tickets/{ticket}", data={"customer_name": "Ines Falk"})
    assert (answer.status_code, answer.headers["Location"]) == (303, f"/tickets/{ticket}")


def test_bad_input_comes_back_with_everything_typed(client: FlaskClient, ticket: str, ctx: Context) -> None:
    typed = MultiDict(
        [
            ("customer_name", "Ines <Falk>"),
            ("family", "steel-string"),
            ("relief", "eight"),
            ("fret_wear.3", "far too much"),
            ("original.bridge", "original"),
            ("complaints", "buzz"),
            ("complaints", "rattle"),
            ("complaint_words", "It buzzes\nup the neck"),
            ("pins.1.part", "top"),
            ("pins.1.kind", "crack"),
            ("pins.1.size", "5 in"),
        ]
    )
    answer = client.post(f"/tickets/{ticket}", data=typed)
    assert answer.status_code == 422
    page = answer.text
    for words in ("Ines &lt;Falk&gt;", "eight", "far too much", "It buzzes\nup the neck", "5 in"):
        assert words in page
    assert page.count("aria-invalid") >= 1
    kept = {pair for entry in steps.latest(ctx.store.db, ticket).values() for pair in entry.fields}
    assert kept == set(typed.items(multi=True))
    assert client.get(f"/tickets/{ticket}").text.count("far too much") >= 1


def test_only_what_changed_makes_a_revision(client: FlaskClient, ticket: str, ctx: Context) -> None:
    form = {"customer_name": "Ines Falk", "relief": "0.008 in"}
    client.post(f"/tickets/{ticket}", data=form)
    client.post(f"/tickets/{ticket}", data={**form, "relief": "0.010 in", "based_on.neck": "1"})
    revisions = {step: entry.revision for step, entry in steps.latest(ctx.store.db, ticket).items()}
    assert revisions == {"customer": 1, "neck": 2}


def test_a_blank_form_opens_no_ticket(client: FlaskClient, ctx: Context) -> None:
    assert client.post("/walkin", data={"customer_name": "  "}).status_code == 303
    assert tickets.board(ctx.store.db) == []


def test_the_buttons_pass_a_step(client: FlaskClient, ticket: str, ctx: Context) -> None:
    client.post(f"/tickets/{ticket}", data={"family": "steel-string", "passed.neck": "all_sound"})
    assert steps.latest(ctx.store.db, ticket)["neck"].passed == "all_sound"
    assert client.post(f"/tickets/{ticket}", data={"passed.neck": "perhaps"}).status_code == 400


def test_filling_in_a_step_takes_back_that_it_was_not_assessed(
    client: FlaskClient, ticket: str, ctx: Context
) -> None:
    client.post(f"/tickets/{ticket}", data={"passed.neck": "not_assessed"})
    client.post(f"/tickets/{ticket}", data={"relief": "0.008 in", "based_on.neck": "1"})
    assert steps.latest(ctx.store.db, ticket)["neck"].passed == ""


def test_photos_come_with_the_form(
    client: FlaskClient, ticket: str, ctx: Context, picture: Callable[..., bytes]
) -> None:
    form = {"customer_name": "Ines Falk", "photos": (io.BytesIO(picture()), "a.jpg")}
    assert client.post(f"/tickets/{ticket}", data=form).status_code == 303
    assert len(photos.of_ticket(ctx.store.db, ticket)) == 1


def test_a_refused_photo_does_not_cost_the_words(client: FlaskClient, ticket: str, ctx: Context) -> None:
    form = {"customer_name": "Ines Falk", "photos": (io.BytesIO(b"<svg/>"), "a.svg")}
    answer = client.post(f"/tickets/{ticket}", data=form)
    assert answer.status_code == 422
    assert "not a photo" in answer.text
    found = tickets.find(ctx.store.db, ticket)
    assert found is not None and found.name == "Ines Falk"
