"""Two phones on one ticket."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

from intake.services.context import Context
from intake.store import steps

OLD, NEW = [("relief", "0.008 in"), ("twist", "none")], [("relief", "0.012 in"), ("twist", "none")]


@pytest.fixture
def clashed(phone: Any, other_phone: Any, ticket: str) -> str:
    """A ticket on which two phones wrote different reliefs."""
    phone.save(ticket, "neck", OLD)
    answer = other_phone.save(ticket, "neck", NEW)
    assert answer.status_code == 412
    assert "Saved-Key" in answer.headers
    assert "0.008 in" in answer.text and "0.012 in" in answer.text
    return ticket


def test_the_page_shows_both_values(clashed: str, client: FlaskClient) -> None:
    page = client.get(f"/tickets/{clashed}").text
    assert "0.008 in" in page and "0.012 in" in page


def test_how_a_step_was_passed_may_clash_too(
    phone: Any, other_phone: Any, ticket: str, client: FlaskClient, ctx: Context
) -> None:
    phone.save(ticket, "neck", passed="all_sound")
    answer = other_phone.save(ticket, "neck", passed="not_assessed")
    assert answer.status_code == 412
    for text in (answer.text, client.get(f"/tickets/{ticket}").text):
        box = text.partition('class="clash card"')[2].partition("</div>")[0]
        assert "All sound" in box and "Not assessed" in box and 'value="mine"' in box
    client.post(f"/tickets/{ticket}/steps/neck/settled", data={"keep": "mine"})
    assert steps.latest(ctx.store.db, ticket)["neck"].passed == "not_assessed"


def test_other_steps_do_not_clash(clashed: str, other_phone: Any) -> None:
    """Revisions are per step."""
    assert other_phone.save(clashed, "action", [("action_bass_12", "6/64 in")]).status_code == 200


def test_a_phone_follows_its_own_unsent_entries(phone: Any, ticket: str) -> None:
    assert [phone.save(ticket, "neck", fields).status_code for fields in (OLD, NEW, OLD)] == [200] * 3


@pytest.mark.parametrize(("keep", "stands"), [("mine", "0.012 in"), ("theirs", "0.008 in")])
def test_a_person_chooses(clashed: str, client: FlaskClient, ctx: Context, keep: str, stands: str) -> None:
    answer = client.post(f"/tickets/{clashed}/steps/neck/settled", data={"keep": keep})
    assert (answer.status_code, answer.headers["Location"]) == (303, f"/tickets/{clashed}#neck")
    assert dict(steps.latest(ctx.store.db, clashed)["neck"].fields)["relief"] == stands
    assert steps.open_clashes(ctx.store.db, clashed) == {}
    assert client.post(f"/tickets/{clashed}/steps/neck/settled", data={"keep": keep}).status_code == 303


def test_until_somebody_chooses_a_further_save_clashes_again(
    clashed: str, other_phone: Any, ctx: Context
) -> None:
    """The answer 412 leaves the page at the revision it started from."""
    answer = other_phone.save(clashed, "neck", [("relief", "0.013 in")])
    assert answer.status_code == 412
    assert 'name="based_on.neck" value="0"' in answer.text
    assert steps.latest(ctx.store.db, clashed)["neck"].revision == 1
    assert dict(steps.open_clashes(ctx.store.db, clashed)["neck"].fields)["relief"] == "0.013 in"


def test_a_choice_must_be_one(clashed: str, client: FlaskClient, ctx: Context) -> None:
    assert client.post(f"/tickets/{clashed}/steps/neck/settled").status_code == 400
    assert steps.open_clashes(ctx.store.db, clashed)


def test_the_whole_form_clashes_too(clashed: str, client: FlaskClient) -> None:
    answer = client.post(f"/tickets/{clashed}", data={"relief": "0.020 in", "based_on.neck": "0"})
    assert answer.status_code == 412
    assert "0.020 in" in answer.text
