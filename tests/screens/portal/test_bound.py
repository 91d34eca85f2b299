"""What a customer takes out takes its share of the discount along, and a yes binds the day that was shown."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from random import Random
from typing import Any
from uuid import uuid4

import pytest
from flask import Flask
from flask.testing import FlaskClient

from intake.quoting.model import Discount, Offer
from intake.quoting.selection import Menu
from intake.quoting.serialise import dumps, loads
from intake.services.context import Context
from intake.store import decisions, quotes
from tests.fields import to_pairs
from tests.screens.portal.conftest import Customer, make_link


def usual_offer(ctx: Context, ticket: str, revision: int) -> Offer:
    found = quotes.find(ctx.store.db, ticket, revision)
    assert found
    return loads(found.exact).offers["put_right"]


def price_of(page: Customer, job: str) -> Decimal:
    """What the page asks for that job alone."""
    assert page.post("choice", jobs=[], add=job).status_code == 303
    return Decimal(page.form()["total"])


@pytest.fixture
def owner(app: Flask, badge: Any, ctx: Context) -> FlaskClient:
    return app.test_client(badge=badge(ctx, "owner"))


@pytest.fixture
def discounted(owner: FlaskClient, client: FlaskClient, ticket: str, quoted: str) -> Callable[..., Customer]:
    """Somebody with a link to the ticket's next revision, with a discount that the owner gave."""

    def make(**typed: str) -> Customer:
        given = owner.post(f"/tickets/{ticket}/discount", data={"reason": "Our fault", **typed})
        assert given.status_code == 303
        quoted = client.post(f"/tickets/{ticket}/quotes").headers["Location"]
        return Customer(client, make_link(client, str(quoted)))

    return make


@pytest.mark.parametrize("job", ["setup", "neck-reset"])
def test_a_job_alone_has_its_share_of_an_amount_of_discount(
    customer: Customer, discounted: Callable[..., Customer], ctx: Context, ticket: str, job: str
) -> None:
    alone, usual = price_of(customer, job), usual_offer(ctx, ticket, 1)
    page = discounted(amount="200")

    with_share = price_of(page, job)

    kept = 1 - 200 / (usual.total - usual.tax)
    assert abs(with_share - alone * kept) <= Decimal("0.02")


def test_the_shops_own_offer_has_the_whole_amount(
    customer: Customer, discounted: Callable[..., Customer], ctx: Context, ticket: str
) -> None:
    discounted(amount="200")

    lines = usual_offer(ctx, ticket, 2).lines

    assert [line.amount for line in lines if line.kind == "discount"] == [Decimal("-200.00")]


def test_the_page_says_that_less_work_has_its_share(discounted: Callable[..., Customer]) -> None:
    page = discounted(amount="200")

    page.post("choice", jobs=[], add="setup")

    assert "less work takes its share of it" in page.get().text
    assert "en gardent une part" in page.get("?lang=fr").text


def forget_the_giver(ctx: Context, ticket: str) -> None:
    """The quotes as an earlier version froze them, the discount taken back since."""
    with ctx.store.writing() as db:
        for found in db.query("select revision, exact from quotes where ticket = ?", [ticket]):
            quote = loads(found["exact"])
            if quote.discount:
                plain = Discount(quote.discount.reason, quote.discount.rate, quote.discount.amount)
                row = [dumps(replace(quote, discount=plain)), ticket, found["revision"]]
                db.execute("update quotes set exact = ? where ticket = ? and revision = ?", row)
        db.execute("delete from discounts where ticket = ?", [ticket])


def test_nobody_agrees_to_more_discount_than_its_giver_may_give(
    customer: Customer, discounted: Callable[..., Customer], ctx: Context, ticket: str
) -> None:
    page = discounted(amount="2000")
    assert page.form()["total"] == "0.00"
    forget_the_giver(ctx, ticket)

    answer = page.say_yes()

    assert answer.status_code == 409
    assert "discount on this quote is more than may be given" in answer.text
    assert decisions.go_ahead(ctx.store.db, ticket, 2) is None


def test_what_the_owner_gave_is_agreed_to_whatever_its_share(
    customer: Customer, discounted: Callable[..., Customer], ctx: Context, ticket: str
) -> None:
    page = discounted(percent="60")

    assert page.say_yes().status_code == 303
    assert decisions.go_ahead(ctx.store.db, ticket, 2)


@pytest.fixture
def second(client: FlaskClient, phone: Any, ctx: Context, ticket: str, quoted: str, held: Any) -> Customer:
    """Somebody else, with the same work to be done."""
    other = str(uuid4())
    phone.take_in(other, to_pairs(ctx.book, held(ticket)))
    made = client.post(f"/tickets/{other}/quotes").headers["Location"]
    return Customer(client, make_link(client, str(made)))


def test_a_day_that_moved_while_somebody_read_asks_again(
    customer: Customer, second: Customer, ctx: Context, ticket: str
) -> None:
    shown = {**customer.form(), "name": "Rose Okafor", "agreed": "yes"}
    second.say_yes()

    answer = customer.post("yes", **shown)

    assert answer.status_code == 409
    assert decisions.go_ahead(ctx.store.db, ticket, 1) is None
    assert "ready day has moved" in answer.text and 'value="Rose Okafor"' in answer.text
    assert customer.say_yes().status_code == 303
    yes = decisions.go_ahead(ctx.store.db, ticket, 1)
    assert yes and yes.ready == customer_day(answer.text)


def customer_day(page: str) -> str:
    found = re.search(r'name="ready" value="([\d-]+)"', page)
    assert found
    return found[1]


def test_at_the_counter_a_day_that_moved_asks_again_too(
    customer: Customer, second: Customer, client: FlaskClient, ctx: Context, ticket: str, quoted: str
) -> None:
    shown = {**customer.form(), "name": "Rose Okafor", "agreed": "yes", "way": "counter"}
    second.say_yes()

    answer = client.post(f"{quoted}/goahead/yes", data=shown)

    assert answer.status_code == 409
    assert "ready day has moved" in answer.text and 'value="Rose Okafor"' in answer.text
    assert decisions.go_ahead(ctx.store.db, ticket, 1) is None


@pytest.mark.parametrize("day", ["", "soon", "2026-13-40", "9" * 5000])
def test_a_yes_without_the_day_that_was_shown_is_none(
    customer: Customer, ctx: Context, ticket: str, day: str
) -> None:
    answer = customer.say_yes(ready=day)

    assert answer.status_code == 409
    assert decisions.go_ahead(ctx.store.db, ticket, 1) is None


def test_the_yes_keeps_the_day_that_was_shown(customer: Customer, ctx: Context, ticket: str) -> None:
    shown = customer.form()["ready"]

    customer.say_yes()

    yes = decisions.go_ahead(ctx.store.db, ticket, 1)
    assert yes and yes.ready == shown
    assert json.loads(yes.offer)["bench"]


@pytest.mark.parametrize("seed", range(3))
def test_no_order_of_posts_makes_a_choice_cheaper_than_it_is(
    discounted: Callable[..., Customer], ctx: Context, ticket: str, seed: int
) -> None:
    """Jobs added, dropped and named twice at random: the page asks what the core asks for the same jobs."""
    chance, page = Random(seed), discounted(percent="5", amount="150")
    found = quotes.latest(ctx.store.db, ticket)
    assert found
    quote = loads(found.exact)
    menu = Menu(quote, ctx.book)
    for _ in range(5):
        jobs = chance.choices(list(menu.jobs), k=4)
        button = {chance.choice(["add", "drop"]): chance.choice(list(menu.jobs))}
        assert page.post("choice", jobs=jobs, **button).status_code == 303

        form = page.form()

        assert form["total"] == str(menu.select(form["jobs"]).offer.total)


@pytest.mark.parametrize("total", ["setup alone", "0.00", "0", "", "-1", "1e3", "nan"])
def test_no_other_sum_buys_everything(
    discounted: Callable[..., Customer], ctx: Context, ticket: str, total: str
) -> None:
    page = discounted(amount="150")
    if total == "setup alone":
        total = str(price_of(page, "setup"))
    page.post("choice", offer="everything")

    answer = page.say_yes(total=total)

    assert answer.status_code == 409
    assert decisions.go_ahead(ctx.store.db, ticket, 2) is None
