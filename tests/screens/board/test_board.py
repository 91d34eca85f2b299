"""The board: pages of tickets, and finding one."""

from __future__ import annotations

import re
from typing import Any
from uuid import uuid4

import pytest
from flask import Flask
from flask.testing import FlaskClient

from intake.services.context import Context
from intake.store import handed_out, tickets
from intake.store.handed_out import HandedOut


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


def test_the_owner_sees_what_was_handed_out_after_the_backup_until_it_is_dealt_with(
    app: Flask, client: FlaskClient, badge: Any, ctx: Context, ticket: str
) -> None:
    with ctx.store.writing() as db:
        tickets.ensure(db, ticket, ctx.now())
        tickets.change(db, ticket, ctx.now(), name="Ada Brandt")
    at, gone = "2026-11-25T15:02:00.000Z", "0190a1b2-0000-7000-8000-000000000001"
    found = [HandedOut(ticket, 2, 1, "Ada Brandt", at, True), HandedOut(gone, 1, 7, "Ines Falk", at, False)]
    handed_out.add_to_list(ctx.store.folder, found)
    owner = app.test_client(badge=badge(ctx, "owner", "Mara Lindt"))

    page = owner.get("/").text

    assert "Not in the backup that was put back" in page
    assert re.search(r"Quote 1-2</b> · Ada Brandt\s*<span>agreed to", page)
    assert "Quote 7-1" in page and "Ines Falk" not in page
    assert "Falk" not in (ctx.store.folder / handed_out.LIST).read_text("utf-8")
    assert "after-backup" not in client.get("/").text
    assert client.post("/after-backup").status_code in (303, 403) and "Quote 1-2" in owner.get("/").text
    assert owner.post("/after-backup").status_code == 303
    assert "after-backup" not in owner.get("/").text


@pytest.mark.parametrize("damaged", ["{", "null", '[{"x": 1}]', "[" * 100_000])
def test_a_damaged_list_of_what_a_restore_lacks_hides_no_board(
    app: Flask, badge: Any, ctx: Context, damaged: str
) -> None:
    (ctx.store.folder / handed_out.LIST).write_text(damaged)
    owner = app.test_client(badge=badge(ctx, "owner"))

    assert owner.get("/").status_code == 200
    assert owner.post("/after-backup").status_code == 303
    assert not (ctx.store.folder / handed_out.LIST).exists()
