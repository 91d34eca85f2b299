"""Two phones that give one part of an answer differently, on pages that know no edits."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient

from intake.services.context import Context
from intake.store import edits, tickets

OLD, NEW = [("relief", "0.008 in"), ("twist", "none")], [("relief", "0.012 in"), ("twist", "none")]
Held = Callable[[str], dict[str, str]]


@pytest.fixture
def clashed(phone: Any, other_phone: Any, ticket: str) -> str:
    """A ticket on which two phones gave different reliefs."""
    phone.save(ticket, "neck", OLD)
    answer = other_phone.save(ticket, "neck", NEW)
    assert answer.status_code == 412
    assert "Saved-Key" in answer.headers
    assert "0.008 in" in answer.text and "0.012 in" in answer.text
    return ticket


def test_the_page_shows_both_values_and_who_gave_them(clashed: str, client: FlaskClient) -> None:
    page = client.get(f"/tickets/{clashed}").text

    box = page.partition('class="clash card"')[2].partition("</fieldset>")[0]
    assert "0.008 in" in box and "0.012 in" in box
    assert "Noor Amari" in box and "Ida Moreau" in box


def test_only_the_part_that_was_given_differently_clashes(clashed: str, held: Held) -> None:
    assert held(clashed) == {"twist": "none"}


def test_how_a_step_was_passed_may_clash_too(
    phone: Any, other_phone: Any, ticket: str, client: FlaskClient, held: Held
) -> None:
    phone.save(ticket, "neck", passed="all_sound")
    answer = other_phone.save(ticket, "neck", passed="not_assessed")

    assert answer.status_code == 412
    for text in (answer.text, client.get(f"/tickets/{ticket}").text):
        box = text.partition('class="clash card"')[2].partition("</fieldset>")[0]
        assert "All sound" in box and "Not assessed" in box
    client.post(f"/tickets/{ticket}/steps/neck/settled", data={"keep": "mine"})
    assert held(ticket)["passed.neck"] == "not_assessed"


def test_other_steps_do_not_clash(clashed: str, other_phone: Any) -> None:
    assert other_phone.save(clashed, "action", [("action_bass_12", "6/64 in")]).status_code == 200


def test_an_answer_to_a_page_lets_its_next_save_follow(phone: Any, ticket: str) -> None:
    assert [phone.save(ticket, "neck", fields).status_code for fields in (OLD, NEW, OLD)] == [200] * 3


def test_coming_from_the_same_phone_is_no_reason_to_give_way(phone: Any, ticket: str, ctx: Context) -> None:
    phone.save(ticket, "neck", OLD)
    answer = phone.save(ticket, "neck", NEW, based_on=0)

    assert answer.status_code == 412
    assert edits.standing(ctx.store.db, ticket)["relief"].is_open


@pytest.mark.parametrize(("keep", "stands"), [("mine", "0.012 in"), ("theirs", "0.008 in")])
def test_a_person_chooses(clashed: str, client: FlaskClient, held: Held, keep: str, stands: str) -> None:
    """On a page from before there were edits, which knows two sides."""
    answer = client.post(f"/tickets/{clashed}/steps/neck/settled", data={"keep": keep})

    assert (answer.status_code, answer.headers["Location"]) == (303, f"/tickets/{clashed}#neck")
    assert held(clashed)["relief"] == stands
    assert client.post(f"/tickets/{clashed}/steps/neck/settled", data={"keep": keep}).status_code == 303


def test_a_person_chooses_without_script(clashed: str, client: FlaskClient, held: Held) -> None:
    form = fields_of_page(client.get(f"/tickets/{clashed}").text)
    chosen = next(
        value for value, says in buttons(client.get(f"/tickets/{clashed}").text) if says == "0.012 in"
    )

    answer = client.post(f"/tickets/{clashed}", data={**form, "choose": chosen})

    assert answer.status_code == 303
    assert held(clashed)["relief"] == "0.012 in"


def test_a_further_save_takes_the_place_of_its_own_and_settles_nothing(
    clashed: str, other_phone: Any, ctx: Context
) -> None:
    """The answer 412 leaves the page at what it started from, so a third value is a side of its own."""
    answer = other_phone.save(clashed, "neck", [("relief", "0.013 in")])

    assert answer.status_code == 412
    assert 'name="based_on.neck"' in answer.text
    heads = edits.standing(ctx.store.db, clashed)["relief"].heads
    values = [row.value for row in edits.by_ids(ctx.store.db, heads).values()]
    assert values == ["0.008 in", "0.012 in", "0.013 in"]


def test_a_choice_must_be_one(clashed: str, client: FlaskClient, ctx: Context) -> None:
    assert client.post(f"/tickets/{clashed}/steps/neck/settled").status_code == 400
    assert edits.standing(ctx.store.db, clashed)["relief"].is_open


def test_the_whole_form_clashes_too(clashed: str, client: FlaskClient) -> None:
    answer = client.post(f"/tickets/{clashed}", data={"relief": "0.020 in"})

    assert answer.status_code == 412
    assert "0.020 in" in answer.text


def test_while_a_clash_is_open_nothing_is_handed_over(clashed: str, phone: Any, client: FlaskClient) -> None:
    phone.save(clashed, "instrument", [("family", "steel-string")])
    phone.save(clashed, "player", [("complaints", "restring")])

    answer = client.post(f"/tickets/{clashed}/quotes")

    assert answer.status_code == 422
    assert "Given differently" in answer.text and "relief" in answer.text.lower()
    assert "given differently" in client.get("/").text


def test_once_it_is_chosen_the_quote_is_handed_over(clashed: str, phone: Any, client: FlaskClient) -> None:
    phone.save(clashed, "instrument", [("family", "steel-string")])
    phone.save(clashed, "player", [("complaints", "restring")])
    client.post(f"/tickets/{clashed}/steps/neck/settled", data={"keep": "mine"})

    assert client.post(f"/tickets/{clashed}/quotes").status_code == 303
    assert "given differently" not in client.get("/").text


def fields_of_page(page: str) -> dict[str, str]:
    """The hidden fields by which the page says what it showed."""
    pattern = r'<input type="hidden" name="((?:base|shown)\.[^"]+)" value="([^"]*)"'
    return dict(re.findall(pattern, page))


def buttons(page: str) -> list[tuple[str, str]]:
    """The values among which a person chooses: what the button posts and what it says."""
    return re.findall(r'name="choose" value="([^"]+)"[^>]*><b>([^<]*)</b>', page)


def test_a_clash_does_not_open_a_ticket_twice(clashed: str, ctx: Context) -> None:
    assert len(tickets.board(ctx.store.db)) == 1
