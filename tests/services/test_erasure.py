"""A phone may still keep what it was told before a customer was erased: nothing of it comes back."""

from __future__ import annotations

import io
from typing import Any

import pytest
from flask.testing import FlaskClient

from intake.paper.worker import Press
from intake.services import documents
from intake.services.context import Context
from intake.store import edits, photos, privacy, tickets

SAID = "The customer of this ticket was erased"


def test_nothing_more_is_kept_of_an_erased_ticket(
    client: FlaskClient, phone: Any, quoted: str, ctx: Context, picture: Any
) -> None:
    privacy.erase(ctx.store, [quoted], ctx.now())
    photo = {"photo": (io.BytesIO(picture()), "top.jpg")}
    whole = {"customer_name": "Ines Falk", "based_on.customer": "9"}
    answers = [
        phone.save(quoted, "customer", [("customer_name", "Ines Falk"), ("customer_phone", "555 0117")]),
        client.post(f"/tickets/{quoted}", data=whole),
        client.post(f"/tickets/{quoted}/photos", data=photo, headers={"Idempotency-Key": "k"}),
        client.post(f"/tickets/{quoted}/discount", data={"percent": "5", "reason": "A friend"}),
        client.post(f"/tickets/{quoted}/quotes"),
        phone.send(quoted, {"id": "e-1", "part": "customer_name", "value": "Ines Falk"}),
    ]
    assert [answer.status_code for answer in answers] == [410] * 6
    assert all(answer.headers["Erased"] == "yes" for answer in answers)
    assert all("Saved-Key" not in answer.headers for answer in answers)
    assert all(SAID in answer.text for answer in answers)
    found = tickets.find(ctx.store.db, quoted)
    assert found and (found.name, found.phone, found.state) == ("", "", "erased")
    assert edits.of_ticket(ctx.store.db, quoted) == []
    assert edits.standing(ctx.store.db, quoted) == {}
    assert photos.of_ticket(ctx.store.db, quoted) == []


@pytest.mark.parametrize("address", ["receipt.pdf", "tag.pdf", "quotes/1.pdf?lang=fr&paper=a4"])
def test_what_is_printed_while_a_customer_is_erased_is_not_kept(
    client: FlaskClient, quoted: str, ctx: Context, monkeypatch: pytest.MonkeyPatch, address: str
) -> None:
    monkeypatch.setattr(documents, "render_quote_pdf", lambda *_, **__: b"%PDF")
    client.post(f"/tickets/{quoted}/quotes")

    def erase_meanwhile(*_: Any, **__: Any) -> bytes:
        privacy.erase(ctx.store, [quoted], ctx.now())
        return b"%PDF of somebody"

    monkeypatch.setattr(documents, "render_quote_pdf", erase_meanwhile)
    monkeypatch.setattr(Press, "render", erase_meanwhile)
    answer = client.get(f"/tickets/{quoted}/{address}")

    assert answer.status_code == 410
    assert [file for file in ctx.store.folder.rglob("*.pdf") if "backups" not in file.parts] == []


def test_erasing_finds_what_was_printed_after_it_began(
    client: FlaskClient, quoted: str, ctx: Context, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = tickets.find(ctx.store.db, quoted)
    assert found
    late = ctx.store.folder / "printed" / str(found.number) / "tag-late.pdf"

    def print_meanwhile(db: Any) -> None:
        late.parent.mkdir(parents=True)
        late.write_bytes(b"%PDF of somebody")

    monkeypatch.setattr("intake.store.privacy.search.forget", print_meanwhile)
    privacy.erase(ctx.store, [quoted], ctx.now())

    assert not late.exists()
