"""Every change is an event with who, which phone, when; a quote says who assessed."""

from __future__ import annotations

import json
from typing import Any

import pytest
from flask.testing import FlaskClient

from intake.paper import DocumentOptions
from intake.services.context import Context
from intake.store import devices, events, people, quotes


def test_changes_of_a_ticket_name_person_and_phone(
    client: FlaskClient, phone: Any, other_phone: Any, ticket: str, ctx: Context, picture: Any
) -> None:
    phone.save(ticket, "neck", [("relief", "0.008 in")])
    other_phone.save(ticket, "neck", [("relief", "0.010 in")])
    client.post(f"/tickets/{ticket}/steps/neck/settled", data={"keep": "mine"})
    other_phone.client.post(f"/tickets/{ticket}/photos", data={"photo": (picture_file(picture), "a.jpg")})
    told = [(e["what"], e["who"], e["device"]) for e in events.of_ticket(ctx.store.db, ticket)]
    noor, ida = ("Noor Amari", "Front"), ("Ida Moreau", "Back")
    assert told == [
        ("ticket opened", *noor), ("step saved", *noor), ("step clashed", *ida),
        ("clash settled", *noor), ("photo kept", *ida),
    ]  # fmt: skip
    for event in events.of_ticket(ctx.store.db, ticket):
        person, device = (
            people.find(ctx.store.db, event["person"]),
            devices.find(ctx.store.db, event["phone"]),
        )
        assert person and device and (person.name, device.name) == (event["who"], event["device"])
        assert event["at"] == "2026-11-25T15:00:00.000Z"


def picture_file(picture: Any) -> Any:
    import io

    return io.BytesIO(picture())


def test_the_quote_says_who_assessed(
    client: FlaskClient, other_phone: Any, quoted: str, ctx: Context, monkeypatch: pytest.MonkeyPatch
) -> None:
    printed: list[str] = []

    def render(_quote: object, _book: object, _walkin: object, options: DocumentOptions) -> bytes:
        printed.append(options.staff)
        return b"%PDF-1.7"

    monkeypatch.setattr("intake.services.documents.render_quote_pdf", render)
    place = other_phone.client.post(f"/tickets/{quoted}/quotes").headers["Location"]
    client.get(f"{place}.pdf?paper=a4")  # printed by somebody else, assessed by the same
    assert printed == ["Ida Moreau", "Ida Moreau"]
    frozen = quotes.latest(ctx.store.db, quoted)
    assert frozen and frozen.staff == "Ida Moreau"
    assert "Assessed by Ida Moreau." in client.get(place).text


def test_what_the_owner_does_is_written_down(client: FlaskClient, app: Any, ctx: Context, badge: Any) -> None:
    owner = app.test_client(badge=badge(ctx, "owner"))
    owner.post("/people/staff", data={"name": "Ida", "role": "bench", "pin": "2718"})
    ida = people.named(ctx.store.db, "Ida")
    assert ida
    owner.post("/people/phones")
    for what in (f"staff/{ida.id}/off", f"staff/{ida.id}/on", f"staff/{ida.id}/unlock", "phones/1/revoke"):
        owner.post(f"/people/{what}")
    rows = list(ctx.store.db.table("events").rows_where(order_by="id"))
    assert [row["what"] for row in rows] == [
        "staff added", "enrolment offered", "staff turned off", "staff turned on", "staff unlocked",
        "phone revoked",
    ]  # fmt: skip
    assert {row["who"] for row in rows} == {"Mara Lindt"}
    assert "2718" not in json.dumps(rows)


def test_signing_in_and_what_was_refused_is_written_down_without_secrets(app: Any, ctx: Context) -> None:
    with ctx.store.writing() as db:
        noor = people.named(db, "Noor Amari")
        assert noor
        from intake.store import passwords

        people.set_pin(db, noor.id, passwords.hashed("4711"), ctx.now())
    phone = app.test_client(badge={"device": app.config["BADGE"]["device"]})
    phone.post(f"/signin/{noor.id}", data={"pin": "0815"})
    phone.post("/signin/owner", data={"name": "my secret by mistake", "password": "x"})
    phone.post(f"/signin/{noor.id}", data={"pin": "4711"})
    phone.post("/signout")
    rows = list(ctx.store.db.table("events").rows_where(order_by="id"))
    assert [(row["what"], row["who"], row["device"]) for row in rows] == [
        ("sign-in refused", "", "Front"), ("sign-in refused", "", "Front"),
        ("signed in", "Noor Amari", "Front"), ("signed out", "Noor Amari", "Front"),
    ]  # fmt: skip
    assert not any(secret in json.dumps(rows) for secret in ("0815", "4711", "by mistake"))
