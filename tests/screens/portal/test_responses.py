"""What the customer said stands where staff open the ticket, before anything can be changed there."""

from __future__ import annotations

from typing import Any

from flask.testing import FlaskClient

LINK = "as it was handed over"


def step_twelve(client: FlaskClient, ticket: str) -> str:
    return client.get(f"/tickets/{ticket}/summary").text


def test_before_a_quote_there_is_nothing_to_say(client: FlaskClient, phone: Any, ticket: str) -> None:
    phone.save(ticket, "instrument", [("family", "steel-string")])
    assert LINK not in step_twelve(client, ticket)
    assert f'href="/tickets/{ticket}"' in client.get("/").text


def test_a_question_is_read_where_the_ticket_opens(
    customer: Any, client: FlaskClient, ticket: str, quoted: str
) -> None:
    customer.post("question", question="Is the finish <b>touched</b>?")
    assert f'href="/tickets/{ticket}#quote"' in client.get("/").text
    for page in (step_twelve(client, ticket), client.get(quoted).text):
        assert "asked about quote 1-1" in page
        assert "Is the finish &lt;b&gt;touched&lt;/b&gt;?" in page
    assert f'href="{quoted}"' in step_twelve(client, ticket)


def test_a_yes_stands_before_a_later_question(
    customer: Any, client: FlaskClient, ticket: str, quoted: str
) -> None:
    customer.say_yes()
    customer.post("question", question="When may I come?")
    page = client.get(quoted).text
    assert "R. Okafor said yes to quote 1-1" in page and "When may I come?" in page
    assert page.index("said yes") < page.index("asked about")
    assert "The yes, mail and links" in page and "Send it, or take the answer" not in page


def test_a_yes_to_an_earlier_quote_is_none_to_the_newer(
    customer: Any, client: FlaskClient, phone: Any, ticket: str
) -> None:
    customer.say_yes()
    phone.save(ticket, "action", [("action_bass_12", "6/64 in")])
    newer = client.post(f"/tickets/{ticket}/quotes").headers["Location"]
    page = client.get(newer).text
    assert "said yes to quote 1-1" in page and "Send it, or take the answer" in page
    taking = client.get(f"{newer}/goahead").text
    assert "What has changed" in taking and "6/64 in instead of 9/64 in" in taking


def test_the_first_quote_has_no_changes_to_tell_at_the_counter(client: FlaskClient, quoted: str) -> None:
    assert "What has changed" not in client.get(f"{quoted}/goahead").text


def test_the_language_is_chosen_beside_the_quote(client: FlaskClient, quoted: str, ticket: str) -> None:
    assert 'value="en" lang="en" aria-pressed="true"' in client.get(quoted).text
    answer = client.post(f"/tickets/{ticket}/language", data={"language": "fr", "revision": "1"})
    assert (answer.status_code, answer.headers["Location"]) == (303, quoted)
    assert 'value="fr" lang="fr" aria-pressed="true"' in client.get(quoted).text
    answer = client.post(f"/tickets/{ticket}/language", data={"language": "en", "revision": "x"})
    assert answer.headers["Location"] == f"/tickets/{ticket}/papers"
