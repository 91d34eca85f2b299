"""The parts of every offer add up to its total: on the counter's page, the customer's, in JSON, on paper."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from flask.testing import FlaskClient
from lxml import html
from pypdf import PdfReader
from werkzeug.datastructures import MultiDict

from intake.services.context import Context
from intake.store import quotes

MONEY = re.compile(r"[-−]?\$[\d,]+\.\d\d|–")


@pytest.fixture(params=["01", "03", "05", "09"])
def frozen(
    request: pytest.FixtureRequest, client: FlaskClient, ticket: str, sample: Callable[[str], Any]
) -> str:
    """The address of a frozen quote; every second one has a discount."""
    client.post(f"/tickets/{ticket}", data=MultiDict(sample(request.param)))
    if request.param in ("03", "09"):
        client.post(f"/tickets/{ticket}/discount", data={"percent": "7.5", "reason": "Waited"})
    return str(client.post(f"/tickets/{ticket}/quotes").headers["Location"])


def has(name: str) -> str:
    """The XPath for that class among others."""
    return f"contains(concat(' ', @class, ' '), ' {name} ')"


def amount(text: str) -> Decimal:
    clean = text.strip().replace("−", "-").replace("$", "").replace(",", "")
    return Decimal(0 if clean == "–" else clean)


def test_everywhere(client: FlaskClient, frozen: str, ticket: str, ctx: Context) -> None:
    totals = in_json(ctx, ticket)
    assert on_the_counters_page(client.get(frozen).text) == totals
    assert on_paper(client.get(f"{frozen}.pdf").data) == totals
    assert to_the_customer(client, frozen) == totals


def in_json(ctx: Context, ticket: str) -> set[Decimal]:
    found = quotes.latest(ctx.store.db, ticket)
    assert found
    quote = json.loads(found.quote)
    prices = {job["id"]: Decimal(job["price"]) for job in quote["jobs"]}
    totals = set()
    for offer in quote["offers"].values():
        lines = sum(Decimal(line["amount"]) for line in offer["lines"])
        assert sum(prices[job] for job in offer["jobs"]) + lines == Decimal(offer["total"])
        totals.add(Decimal(offer["total"]))
    return totals


def on_the_counters_page(page: str) -> set[Decimal]:
    tree = html.fromstring(page)
    cards = [amount(card.text_content()) for card in tree.xpath(f"//label[{has('offer')}]//*[{has('fig')}]")]
    totals = set()
    for number, shown in enumerate(cards, 1):
        jobs = [
            amount(job.text_content()) for job in tree.xpath(f"//li[{has(f'in-{number}')}]//*[{has('fig')}]")
        ]
        sums = tree.xpath("//details//dl")[number - 1]
        listed, *lines = (amount(cell.text_content()) for cell in sums.xpath("./dd"))
        assert (sum(jobs), listed + sum(lines)) == (listed, shown)
        totals.add(shown)
    return totals


def on_paper(pdf: bytes) -> set[Decimal]:
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)
    text = text[text.index("The work, in the order we do it") :]
    rows = [(line, MONEY.findall(line)) for line in text[: text.index("What we measured")].splitlines()]
    width = len(next(found for line, found in rows if line.startswith("Total ")))
    columns: list[list[Decimal]] = [[] for _ in range(width)]
    totals = set()
    for line, found in rows:
        if len(found) < width or not line.rstrip().endswith(found[-1]) or line.startswith("Quote "):
            continue
        cells = [amount(cell) for cell in found[-width:]]
        for column, cell in zip(columns, cells, strict=True):
            if line.startswith(("Jobs ", "Total ")):
                assert sum(column) == cell, line
                column[:] = [cell]
            else:
                column.append(cell)
        totals = set(cells)
    return totals


def to_the_customer(client: FlaskClient, frozen: str) -> set[Decimal]:
    found = re.search(r'value="http://[^/"]+(/q/[^"]+)"', client.post(f"{frozen}/link").text)
    assert found
    totals = set()
    for tier in ("playable", "put_right", "everything"):
        client.post(f"{found[1]}/choice", data={"offer": tier})
        tree = html.fromstring(client.get(found[1]).text)
        *parts, total = (amount(cell.text_content()) for cell in tree.xpath(f"//section[{has('sum')}]//dd"))
        assert sum(parts) == total
        totals.add(total)
    return totals
