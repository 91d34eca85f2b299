"""The owner hands out or erases a customer's data from the ticket; nobody else may."""

from __future__ import annotations

import io
import json
import zipfile
from typing import Any
from uuid import uuid4

import pytest
from flask import Flask
from flask.testing import FlaskClient

from intake.services.context import Context
from intake.store import events, tickets

ROSE = [("customer_name", "Rose Okafor"), ("customer_phone", "555 0188")]


@pytest.fixture
def owner(app: Flask, ctx: Context, badge: Any) -> FlaskClient:
    return app.test_client(badge=badge(ctx, "owner"))


@pytest.fixture
def three(phone: Any) -> list[str]:
    """Two tickets of one customer, and one of a namesake."""
    ids = [str(uuid4()) for _ in range(3)]
    for id, number in zip(ids, ("555 0188", "555 0188", "555 0199"), strict=True):
        phone.save(id, "customer", [ROSE[0], ("customer_phone", number)])
    return ids


def test_only_the_owner(client: FlaskClient, three: list[str]) -> None:
    address = f"/tickets/{three[0]}/privacy"
    assert client.get(address).status_code == 403
    assert client.post(f"{address}/export", data={"tickets": three[0]}).status_code == 403
    assert client.post(f"{address}/erase", data={"tickets": three[0], "number": "1"}).status_code == 403
    assert "privacy" not in client.get(f"/tickets/{three[0]}/papers").text


def test_tickets_of_the_same_customer_are_listed(owner: FlaskClient, three: list[str]) -> None:
    assert f"{three[0]}/privacy" in owner.get(f"/tickets/{three[0]}/papers").text
    page = owner.get(f"/tickets/{three[0]}/privacy").text
    assert three[0] in page and f'value="{three[1]}"' in page and three[2] not in page


def test_the_zip_holds_what_was_picked(owner: FlaskClient, three: list[str], ctx: Context) -> None:
    answer = owner.post(f"/tickets/{three[0]}/privacy/export", data={"tickets": three[:2]})
    data = json.loads(zipfile.ZipFile(io.BytesIO(answer.data)).read("data.json"))
    assert {one["ticket"]["id"] for one in data["tickets"]} == set(three[:2])
    last = events.of_ticket(ctx.store.db, three[1])[-1]
    assert (last["what"], last["who"]) == ("customer's data handed out", "Mara Lindt")


@pytest.mark.parametrize("fields", [{}, {"tickets": "2"}, {"tickets": "other"}])
def test_somebody_elses_ticket_cannot_be_named(
    owner: FlaskClient, three: list[str], fields: dict[str, str], ctx: Context
) -> None:
    more = {"tickets": three[2]} if fields.get("tickets") == "other" else fields
    for what in ("export", "erase"):
        answer = owner.post(f"/tickets/{three[0]}/privacy/{what}", data={**more, "number": "1"})
        assert answer.status_code == 400
    assert tickets.find(ctx.store.db, three[2]).name == "Rose Okafor"  # type: ignore[union-attr]


def test_erasing_wants_the_number(owner: FlaskClient, three: list[str], ctx: Context) -> None:
    address = f"/tickets/{three[0]}/privacy"
    answer = owner.post(f"{address}/erase", data={"tickets": three[:2], "number": "7"})
    assert answer.status_code == 422 and "Nothing was erased" in answer.text
    assert tickets.find(ctx.store.db, three[0]).name == "Rose Okafor"  # type: ignore[union-attr]
    answer = owner.post(f"{address}/erase", data={"tickets": three[:2], "number": "#1"})
    assert answer.status_code == 200 and "Erased." in answer.text and "replaced-" in answer.text
    for id, name in zip(three, ("", "", "Rose Okafor"), strict=True):
        assert tickets.find(ctx.store.db, id).name == name  # type: ignore[union-attr]
    assert events.of_ticket(ctx.store.db, three[1])[-1]["who"] == "Mara Lindt"
    assert "Rose" not in owner.get(address).text
