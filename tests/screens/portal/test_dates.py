"""The first day that is shown is for a yes today; a yes is planned from its own day."""

from __future__ import annotations

import json
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from flask.testing import FlaskClient

from intake.services.context import Context
from intake.store import bench, decisions, quotes, tickets
from tests.fields import to_pairs
from tests.screens.portal.conftest import Customer, make_link


def offer_of(ctx: Context, ticket: str, tier: str = "put_right") -> dict[str, Any]:
    frozen = quotes.latest(ctx.store.db, ticket)
    assert frozen
    found: dict[str, Any] = json.loads(frozen.quote)["offers"][tier]
    return found


def written(day: str | date) -> str:
    """The day as the customer's page has it in English."""
    day = date.fromisoformat(day) if isinstance(day, str) else day
    return f"{day:%B} {day.day}, {day.year}"


@pytest.fixture
def second(client: FlaskClient, phone: Any, ctx: Context, ticket: str, quoted: str, held: Any) -> Customer:
    """Somebody else, with the same work to be done."""
    other = str(uuid4())
    phone.take_in(other, to_pairs(ctx.book, held(ticket)))
    made = client.post(f"/tickets/{other}/quotes").headers["Location"]
    return Customer(client, make_link(client, str(made)))


@pytest.mark.parametrize("page", ["link", "goahead", "frozen"])
def test_the_first_day_stands_before_the_second(
    page: str, customer: Customer, client: FlaskClient, ctx: Context, ticket: str, quoted: str
) -> None:
    offer = offer_of(ctx, ticket, "playable")
    text = {
        "link": lambda: customer.get().text,
        "goahead": lambda: client.get(f"{quoted}/goahead").text,
        "frozen": lambda: client.get(quoted).text,
    }[page]()

    first, last = text.index(written(offer["ready_today"])), text.index(written(offer["ready"]))

    assert offer["ready_today"] < offer["ready"] and first < last


def test_the_link_works_the_first_day_out_anew_at_each_look(customer: Customer, clock: Any) -> None:
    before = customer.form()["ready"]
    clock.move(days=3)

    after = customer.form()["ready"]

    assert after > before


def test_a_yes_some_days_later_is_planned_from_its_own_day(
    customer: Customer, ctx: Context, ticket: str, clock: Any
) -> None:
    clock.move(days=2)
    shown = customer.form()["ready"]

    customer.say_yes()

    yes = decisions.go_ahead(ctx.store.db, ticket, 1)
    assert yes and yes.ready == shown < offer_of(ctx, ticket)["ready"]
    booked = bench.taken(ctx.store.db, "", ctx.today)
    assert booked[0][0] == ctx.today.isoformat()


def test_an_emptier_bench_brings_the_day_forward_without_asking(
    customer: Customer, second: Customer, client: FlaskClient, ctx: Context, ticket: str
) -> None:
    second.say_yes()
    shown = {**customer.form(), "name": "Rose Okafor", "agreed": "yes"}
    with ctx.store.writing() as db:
        db.execute("delete from bench")

    assert customer.post("yes", **shown).status_code == 303

    yes = decisions.go_ahead(ctx.store.db, ticket, 1)
    assert yes and yes.ready < shown["ready"]


def test_when_the_shop_has_closed_the_work_starts_at_the_next_opening(
    customer: Customer, ctx: Context, ticket: str, clock: Any
) -> None:
    local = clock.moment.astimezone()
    clock.moment = local.replace(hour=17, minute=55)

    customer.say_yes()

    booked = bench.taken(ctx.store.db, "", ctx.today)
    assert booked[0][0] > ctx.today.isoformat()


def test_what_slips_moves_the_first_day_of_the_next_quote(
    customer: Customer, second: Customer, ctx: Context, clock: Any
) -> None:
    """On the day after the last work before the ready day, nobody having said that it is done."""
    customer.say_yes()
    days = [date.fromisoformat(day) for day, _ in bench.taken(ctx.store.db, "", ctx.today)]
    last = max(day for day in days if day < date.fromisoformat(second.form()["ready"]))
    clock.move(days=(last - ctx.today).days + 1)

    behind = second.form()["ready"]
    with ctx.store.writing() as db:
        db.execute("delete from bench")

    assert second.form()["ready"] < behind


def test_the_board_has_the_first_day(
    customer: Customer, client: FlaskClient, ctx: Context, ticket: str
) -> None:
    found = tickets.find(ctx.store.db, ticket)

    assert found and found.ready == offer_of(ctx, ticket)["ready_today"]


def test_at_the_counter_a_running_price_is_for_a_yes_today(
    client: FlaskClient, ticket: str, quoted: str
) -> None:
    running, frozen = client.get(f"/tickets/{ticket}/summary").text, client.get(quoted).text

    assert "with a yes today" in running and "with a yes on November 25, 2026" in frozen


@pytest.mark.parametrize(("language", "words"), [("en", "with a yes today"), ("fr", "accord aujourd’hui")])
def test_the_page_says_what_each_day_is_for(customer: Customer, language: str, words: str) -> None:
    text = customer.get(f"?lang={language}").text

    assert words in text
    assert {"en": "with a yes by December 2, 2026", "fr": "au plus tard le 2 décembre 2026"}[language] in text
