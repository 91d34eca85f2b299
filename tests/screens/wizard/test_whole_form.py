"""The wizard without JavaScript: one long form."""

from __future__ import annotations

import html
import io
import re
from collections.abc import Callable
from typing import Any

from flask.testing import FlaskClient
from werkzeug.datastructures import MultiDict

from intake.services.context import Context
from intake.store import edits, photos, tickets
from tests.fields import to_pairs

Held = Callable[[str], dict[str, str]]


def shown(page: str) -> dict[str, str]:
    """The hidden fields by which the page says what it showed."""
    pattern = r'<input type="hidden" name="((?:base|shown)\.[^"]+)" value="([^"]*)"'
    return {name: html.unescape(value) for name, value in re.findall(pattern, page)}


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


def test_bad_input_comes_back_with_everything_typed(
    client: FlaskClient, ticket: str, ctx: Context, held: Held
) -> None:
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
    assert set(to_pairs(ctx.book, held(ticket))) == set(typed.items(multi=True))
    assert client.get(f"/tickets/{ticket}").text.count("far too much") >= 1


def test_only_what_is_not_as_it_was_shown_is_an_edit(
    client: FlaskClient, ticket: str, ctx: Context, held: Held
) -> None:
    form = {"customer_name": "Ines Falk", "relief": "0.008 in", "complaints": "buzz"}
    client.post(f"/tickets/{ticket}", data=form)
    page = shown(client.get(f"/tickets/{ticket}").text)

    client.post(f"/tickets/{ticket}", data={**page, **form, "relief": "0.010 in"})

    assert [row.part for row in edits.of_ticket(ctx.store.db, ticket)] == [
        "customer_name",
        "relief",
        "complaints/buzz",
        "relief",
    ]
    assert held(ticket)["relief"] == "0.010 in"


def test_an_unticked_box_and_an_emptied_field_take_back(client: FlaskClient, ticket: str, held: Held) -> None:
    form = {"customer_name": "Ines Falk", "relief": "0.008 in", "complaints": "buzz", "pins.1.part": "top"}
    client.post(f"/tickets/{ticket}", data=form)
    page = shown(client.get(f"/tickets/{ticket}").text)

    client.post(f"/tickets/{ticket}", data={**page, "customer_name": "Ines Falk", "relief": ""})

    assert held(ticket) == {"customer_name": "Ines Falk"}


def test_a_form_posted_twice_acts_once(client: FlaskClient, ticket: str, ctx: Context) -> None:
    form = {"key": "k-1", "relief": "0.008 in"}

    answers = [client.post(f"/tickets/{ticket}", data=form) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [303, 303]
    assert len(edits.of_ticket(ctx.store.db, ticket)) == 1


def test_the_same_form_filled_in_otherwise_is_not_lost(
    client: FlaskClient, ticket: str, ctx: Context
) -> None:
    """Somebody went back in the browser; the page still shows what it did."""
    client.post(f"/tickets/{ticket}", data={"key": "k-1", "relief": "0.008 in"})

    answer = client.post(f"/tickets/{ticket}", data={"key": "k-1", "relief": "0.012 in"})

    assert answer.status_code == 412
    assert "0.008 in" in answer.text and "0.012 in" in answer.text


def test_each_page_has_a_key_of_its_own(client: FlaskClient, ticket: str) -> None:
    pages = [client.get(f"/tickets/{ticket}").text for _ in range(2)]

    keys = {re.search(r'name="key" value="([^"]+)"', page)[1] for page in pages}  # type: ignore[index]
    assert len(keys) == 2


def test_a_blank_form_opens_no_ticket(client: FlaskClient, ctx: Context) -> None:
    assert client.post("/walkin", data={"customer_name": "  "}).status_code == 303
    assert tickets.board(ctx.store.db) == []


def test_the_buttons_pass_a_step(client: FlaskClient, ticket: str, held: Held) -> None:
    client.post(f"/tickets/{ticket}", data={"family": "steel-string", "passed.neck": "all_sound"})
    assert held(ticket)["passed.neck"] == "all_sound"
    assert client.post(f"/tickets/{ticket}", data={"passed.neck": "perhaps"}).status_code == 400


def test_filling_in_a_step_takes_back_that_it_was_not_assessed(
    client: FlaskClient, ticket: str, held: Held
) -> None:
    client.post(f"/tickets/{ticket}", data={"passed.neck": "not_assessed"})
    page = shown(client.get(f"/tickets/{ticket}").text)

    client.post(f"/tickets/{ticket}", data={**page, "relief": "0.008 in"})

    assert held(ticket) == {"relief": "0.008 in"}


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


def test_a_key_with_a_blank_is_none(client: FlaskClient, ticket: str, held: Held) -> None:
    """Ids of edits are made of it, and several are kept with blanks between them."""
    answer = client.post(f"/tickets/{ticket}", data={"key": "a b", "passed.neck": "not_assessed"})

    assert answer.status_code == 400
    assert held(ticket) == {}
