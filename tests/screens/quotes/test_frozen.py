"""A sent quote stays what it was: after the book has changed it computes again to the cent and prints the
same words; a revision says in words what differs."""

from __future__ import annotations

import hashlib
import io
import json
import re
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from pypdf import PdfReader

from intake.config import demo_book
from intake.quoting.quote import make_quote
from intake.quoting.serialise import loads
from intake.services import documents
from intake.services.context import Context
from intake.services.current_book import load_files, read_files
from intake.services.walkins import from_json
from intake.store import quotes, revisions, tickets


def put_in_force(ctx: Context, **changed: str) -> None:
    """The demo book with other figures in shop.toml."""
    files = read_files(demo_book())
    shop = files["shop.toml"].decode()
    for key, value in changed.items():
        shop, count = re.subn(rf"(?m)^{key} = .*$", f'{key} = "{value}"', shop)
        assert count == 1
    files["shop.toml"] = shop.encode()
    with ctx.store.writing() as db:
        revisions.put_in_force(db, load_files(files).digest, files, ctx.now(), "load", about="x")


def freeze(client: FlaskClient, ticket: str) -> str:
    answer = client.post(f"/tickets/{ticket}/quotes")
    assert answer.status_code == 303, answer.text
    return str(answer.headers["Location"])


def words(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


def test_the_same_revision_computes_and_prints_the_same_after_the_book_has_changed(
    app: Flask, client: FlaskClient, quoted: str, ctx: Context
) -> None:
    place = freeze(client, quoted)
    first = client.get(f"{place}.pdf").data
    put_in_force(ctx, labour_rate="99", currency="EUR")
    frozen = quotes.find(ctx.store.db, quoted, 1)
    assert frozen and ctx.book.digest != frozen.book_digest
    kept = loads(frozen.exact)
    again = make_quote(
        ctx.book_of(frozen.book_digest),
        from_json(frozen.walkin),
        kept.made_on,
        booked=kept.booked,
        adjust=kept.discount,
    )
    assert (again.offers, again.jobs) == (kept.offers, kept.jobs)
    assert client.get(f"{place}.pdf").data == first
    assert hashlib.sha256(first).hexdigest() == frozen.pdf_sha256
    found, old = tickets.find(ctx.store.db, quoted), ctx.book_of(frozen.book_digest)
    assert found
    url = f"http://localhost/tickets/{quoted}"
    with app.app_context():
        job = documents.job_of(ctx, old, again, from_json(frozen.walkin), found, 1, url, frozen.staff)
        assert words(documents.first_pdf(job)) == words(first)
    offer = json.loads(frozen.quote)["offers"]["put_right"]
    assert offer["total"] in client.get(place).text.replace(",", "")


def test_the_next_revision_says_what_differs(
    client: FlaskClient, phone: Any, quoted: str, ctx: Context, monkeypatch: Any
) -> None:
    monkeypatch.setattr("intake.services.documents.render_quote_pdf", lambda *_, **__: b"%PDF")
    first = freeze(client, quoted)
    assert "What changed" not in client.get(first).text
    phone.save(quoted, "hardware-and-wiring", [("tuners", "stiff")], based_on=1)
    put_in_force(ctx, labour_rate="99")
    text = client.get(freeze(client, quoted)).text
    assert "What changed since revision 1" in text
    assert "instead of" in text and "prices or rules have changed" in text
    assert "What changed" not in client.get(first).text


def test_the_customer_reads_what_differs_from_what_they_had(
    client: FlaskClient, phone: Any, quoted: str, ctx: Context, monkeypatch: Any
) -> None:
    """The second revision was never handed out, so the third is told against the first."""
    monkeypatch.setattr("intake.services.documents.render_quote_pdf", lambda *_, **__: b"%PDF")
    first = freeze(client, quoted)
    page = link(client, first)
    assert "What has changed" not in client.get(page).text
    put_in_force(ctx, labour_rate="80")
    freeze(client, quoted)
    put_in_force(ctx, labour_rate="99")
    third = freeze(client, quoted)
    assert third.endswith("/3")
    text = client.get(link(client, third)).text
    was, now = (
        loads(found.exact).offers["put_right"].total
        for found in (quotes.find(ctx.store.db, quoted, number) for number in (1, 3))
        if found
    )
    assert "What has changed" in text and f"${now:,} instead of ${was:,}" in text
    assert "Ce qui a changé" in client.get(f"{link(client, third)}?lang=fr").text


def link(client: FlaskClient, place: str) -> str:
    found = re.search(r'value="http://[^/"]+(/q/[^"]+)"', client.post(f"{place}/link").text)
    assert found
    return found[1]
