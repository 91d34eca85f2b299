"""The board: pages of tickets, and finding one."""

from __future__ import annotations

import re
from uuid import uuid4

from flask.testing import FlaskClient

from intake.services.context import Context
from intake.store import tickets


def numbers(page: str) -> list[int]:
    return [int(found) for found in re.findall(r'class="no">(\d+)<', page)]


def test_older_tickets_are_a_tap_away(client: FlaskClient, ctx: Context) -> None:
    with ctx.store.writing() as db:
        for _ in range(tickets.PAGE + 5):
            tickets.ensure(db, str(uuid4()), ctx.now())
    first = client.get("/").text
    (older,) = re.findall(r'rel="next" href="([^"]+)"', first)
    second = client.get(older).text
    assert numbers(first) + numbers(second) == list(range(tickets.PAGE + 5, 0, -1))
    assert 'rel="next"' not in second


def test_older_answers_to_the_same_words(client: FlaskClient, ctx: Context) -> None:
    with ctx.store.writing() as db:
        for turn in range(2 * tickets.PAGE + 2):
            id = str(uuid4())
            tickets.ensure(db, id, ctx.now())
            tickets.change(db, id, ctx.now(), name=("Zoë Falk", "Ines Hawk")[turn % 2])
    first = client.get("/?q=zoe+falk").text
    (older,) = re.findall(r'rel="next" href="([^"]+)"', first)
    rest = numbers(client.get(older.replace("&amp;", "&")).text)
    assert [*numbers(first), *rest] == list(range(2 * tickets.PAGE + 1, 0, -2))


def test_words_of_the_walk_in_find_it(client: FlaskClient, quoted: str) -> None:
    assert quoted in client.get("/?q=okafor+rattle+steel").text
    assert quoted not in client.get("/?q=okafor+nylon").text


def test_a_page_number_that_is_none_is_the_first_page(client: FlaskClient, quoted: str) -> None:
    for before in ("x", "-1", "9" * 30):
        assert quoted in client.get(f"/?before={before}").text
