"""A discount has an amount, a reason and a giver; the quote prints it, and the next revision follows."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from intake.quoting.serialise import loads
from intake.services.context import Context
from intake.store import discounts, edits, events, quotes, tickets


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """No WeasyPrint."""
    monkeypatch.setattr("intake.services.documents.render_quote_pdf", lambda *_, **__: b"%PDF")


def freeze(client: FlaskClient, ticket: str) -> str:
    return str(client.post(f"/tickets/{ticket}/quotes").headers["Location"])


def test_it_stands_on_the_quote_with_its_reason(client: FlaskClient, quoted: str, ctx: Context) -> None:
    freeze(client, quoted)
    answer = client.post(f"/tickets/{quoted}/discount", data={"percent": "10", "reason": "Pays today"})
    assert answer.status_code == 303
    assert "Discount: Pays today" in client.get(f"/tickets/{quoted}/summary").text
    place = freeze(client, quoted)
    assert place.endswith("/2") and freeze(client, quoted) == place
    assert "Discount: Pays today" in client.get(place).text
    before, after = (
        loads(found.exact).offers["put_right"]
        for found in (quotes.find(ctx.store.db, quoted, number) for number in (1, 2))
        if found
    )
    off = [line.amount for line in after.lines if line.kind == "discount"]
    assert len(off) == 1 and off[0] < 0
    assert after.total < before.total
    said = events.of_ticket(ctx.store.db, quoted)
    given = next(event for event in said if event["what"] == "discount given")
    assert (given["who"], given["device"]) == ("Noor Amari", "Front")
    assert given["detail"] == {"rate": "0.1", "amount": "0", "reason": "Pays today"}


def test_the_board_has_the_price_with_it(client: FlaskClient, quoted: str, ctx: Context) -> None:
    def price() -> Decimal:
        found = tickets.find(ctx.store.db, quoted)
        assert found
        return Decimal(found.total)

    before = price()
    client.post(f"/tickets/{quoted}/discount", data={"percent": "10", "reason": "Pays today"})
    assert price() < before
    client.post(f"/tickets/{quoted}/discount", data={"withdraw": "yes"})
    assert price() == before


def test_it_can_be_taken_back(client: FlaskClient, quoted: str, ctx: Context) -> None:
    before = client.get(f"/tickets/{quoted}/summary").text
    client.post(f"/tickets/{quoted}/discount", data={"amount": "12.50", "reason": "A friend"})
    assert client.get(f"/tickets/{quoted}/summary").text != before
    page = client.get(f"/tickets/{quoted}/discount").text
    assert 'value="12.50"' in page and 'value="A friend"' in page and "Given by Noor Amari" in page
    client.post(f"/tickets/{quoted}/discount", data={"withdraw": "yes"})
    assert client.get(f"/tickets/{quoted}/summary").text == before
    assert events.of_ticket(ctx.store.db, quoted)[-1]["what"] == "discount withdrawn"


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"percent": "10"}, "has a reason"),
        ({"percent": "10", "reason": " "}, "has a reason"),
        ({"percent": "800", "reason": "x"}, "between 0 % and 100 %"),
        ({"percent": "-5", "reason": "x"}, "Write a number"),
        ({"percent": "a lot", "reason": "x"}, "Write a number"),
        ({"percent": "nan", "reason": "x"}, "Write a number"),
        ({"amount": "1e30", "reason": "x"}, "Write a number"),
        ({"amount": "0.001", "reason": "x"}, "no coins that small"),
        ({"amount": "1_5", "reason": "x"}, "Write a number"),
        ({"percent": "1_0", "reason": "x"}, "Write a number"),
        ({"amount": "\u0661\u0662", "reason": "x"}, "Write a number"),
        ({"percent": "\uff15", "reason": "x"}, "Write a number"),
        ({"amount": ".", "reason": "x"}, "Write a number"),
        ({"reason": "Because"}, "a share or an amount"),
        ({"percent": "16", "reason": "x"}, "More than 15 % is for the owner"),
        ({"amount": "5000", "reason": "x"}, "More than 15 % is for the owner"),
    ],
)
def test_what_is_none_is_refused_beside_its_field(
    client: FlaskClient, quoted: str, ctx: Context, typed: dict[str, str], words: str
) -> None:
    answer = client.post(f"/tickets/{quoted}/discount", data=typed)
    assert answer.status_code == 422
    assert words in answer.text
    for value in filter(str.strip, typed.values()):
        assert f'value="{value}"' in answer.text
    assert discounts.find(ctx.store.db, quoted) is None


def test_the_owner_may_give_more(app: Flask, badge: Any, quoted: str, ctx: Context) -> None:
    owner = app.test_client(badge=badge(ctx, "owner"))
    typed = {"percent": "50,5 %", "reason": "Our fault"}
    assert owner.post(f"/tickets/{quoted}/discount", data=typed).status_code == 303
    found = discounts.find(ctx.store.db, quoted)
    assert found and Decimal(found.rate) == Decimal("0.505") and found.who == "Mara Lindt"


def shrink(phone: Any, ticket: str, sample: Any) -> None:
    """The ticket's instrument turns out to need new strings and nothing else."""
    store = phone.client.application.extensions["context"].store
    shown = edits.standing(store.db, ticket)
    page = [(f"base.{part}", " ".join(one.heads)) for part, one in shown.items()]
    page += [(f"shown.{part}", one.value) for part, one in shown.items()]
    phone.take_in(ticket, [*sample("01"), *page])


def test_a_discount_that_outgrew_its_ticket_is_not_frozen(
    client: FlaskClient, phone: Any, quoted: str, sample: Any, ctx: Context
) -> None:
    given = client.post(f"/tickets/{quoted}/discount", data={"amount": "190", "reason": "Pays today"})
    assert given.status_code == 303
    shrink(phone, quoted, sample)

    answer = client.post(f"/tickets/{quoted}/quotes")

    assert answer.status_code == 422
    assert "More than 15 % is for the owner to give" in answer.text
    assert quotes.latest(ctx.store.db, quoted) is None


def test_what_the_owner_gave_is_frozen_whatever_its_share(
    client: FlaskClient, app: Flask, badge: Any, phone: Any, quoted: str, sample: Any, ctx: Context
) -> None:
    owner = app.test_client(badge=badge(ctx, "owner"))
    owner.post(f"/tickets/{quoted}/discount", data={"amount": "30", "reason": "Our fault"})
    shrink(phone, quoted, sample)

    assert client.post(f"/tickets/{quoted}/quotes").status_code == 303


def test_an_amount_counts_against_the_price_that_it_is_taken_from(
    client: FlaskClient, quoted: str, ctx: Context
) -> None:
    """Not against the total with its taxes, which shrink along with the price."""
    freeze(client, quoted)
    frozen = quotes.find(ctx.store.db, quoted, 1)
    assert frozen
    usual, limit = loads(frozen.exact).offers["put_right"], ctx.book.shop.discount_most
    most = (usual.before * limit).quantize(Decimal("0.01"), "ROUND_DOWN")

    def give(amount: Decimal) -> int:
        form = {"amount": str(amount), "reason": "A friend"}
        return client.post(f"/tickets/{quoted}/discount", data=form).status_code

    assert usual.total > usual.before
    assert (give(most + Decimal("0.01")), give(most)) == (422, 303)
    freeze(client, quoted)
    after = quotes.latest(ctx.store.db, quoted)
    assert after
    given = 1 - loads(after.exact).offers["put_right"].total / usual.total
    assert given <= limit + Decimal("0.0001")
