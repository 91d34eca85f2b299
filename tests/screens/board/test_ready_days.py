"""The board works the ready day of what is not agreed out anew at each look."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from flask import Flask
from flask.testing import FlaskClient

from intake.services.context import Context
from intake.store import bench, tickets

Pairs = list[tuple[str, str]]


def shown(client: FlaskClient, ticket: str) -> str:
    """The ticket's line on the board."""
    return client.get("/").text.partition(f"/tickets/{ticket}")[2].partition("</li>")[0]


def stored(ctx: Context, ticket: str) -> date:
    found = tickets.find(ctx.store.db, ticket)
    assert found and found.ready
    return date.fromisoformat(found.ready)


def written(day: date) -> str:
    return f"{day:%B} {day.day}, {day.year}"


def book(ctx: Context, ticket: str, day: date, hours: int, ready: date) -> None:
    with ctx.store.writing() as db:
        bench.put(db, ticket, [(day, hours)], ready)  # type: ignore[list-item]


@pytest.fixture
def other(client: FlaskClient, phone: Any, sample: Callable[[str], Pairs]) -> str:
    """Another ticket."""
    ticket = str(uuid4())
    phone.take_in(ticket, sample("02"))
    return ticket


@pytest.mark.parametrize("frozen", [False, True])
def test_a_week_later_the_day_is_later(
    client: FlaskClient, app: Flask, badge: Any, quoted: str, ctx: Context, clock: Any, frozen: bool,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setattr("intake.services.documents.render_quote_pdf", lambda *_, **__: b"%PDF")
    if frozen:
        client.post(f"/tickets/{quoted}/quotes")
    assert written(stored(ctx, quoted)) == "December 5, 2026"
    assert "December 5, 2026" in shown(client, quoted)
    clock.move(days=7)

    line = shown(app.test_client(badge=badge(ctx)), quoted)

    assert "December 11, 2026" in line  # no holiday in between this time


def test_work_promised_to_others_moves_it_and_work_done_brings_it_back(
    client: FlaskClient, quoted: str, other: str, ctx: Context
) -> None:
    before = shown(client, quoted)
    book(ctx, other, ctx.today, 40, ctx.today)

    behind = shown(client, quoted)
    client.post(f"/tickets/{other}/work/done")

    assert written(stored(ctx, quoted)) not in behind
    assert shown(client, quoted) == before


def test_a_ticket_does_not_stand_in_its_own_way(client: FlaskClient, quoted: str, ctx: Context) -> None:
    """A revised quote after a yes: what the first yes booked is its own."""
    before = shown(client, quoted)

    book(ctx, quoted, ctx.today, 40, ctx.today)

    assert shown(client, quoted) == before


def test_what_was_agreed_keeps_its_day(client: FlaskClient, quoted: str, other: str, ctx: Context) -> None:
    with ctx.store.writing() as db:
        tickets.change(db, quoted, ctx.now(), state="signed", ready="2026-12-05")
    book(ctx, other, ctx.today, 40, ctx.today)

    assert "December 5, 2026" in shown(client, quoted)


def test_a_ticket_of_an_earlier_version_shows_the_day_it_was_left_with(
    client: FlaskClient, quoted: str, ctx: Context
) -> None:
    with ctx.store.writing() as db:
        db.execute("delete from plans")
        tickets.change(db, quoted, ctx.now(), ready="2026-12-24")

    assert "December 24, 2026" in shown(client, quoted)
