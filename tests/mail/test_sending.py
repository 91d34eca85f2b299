"""From the staff's "send" to the customer's yes, with the shop's real sender and a real SMTP server."""

from __future__ import annotations

import re
import time
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from intake.book.answers import to_fields
from intake.config import Settings, demo_book
from intake.store import decisions, events, outbox, tickets


@pytest.fixture
def box(serve: Any, data: Path) -> Any:
    """The shop's mail server; its settings lie in the data folder before the app starts."""
    box = serve()
    data.mkdir(parents=True)
    lines = f'host = "127.0.0.1"\nport = {box.port}\nsecurity = "none"\nsender = "bench@shop.example"\n'
    (data / "mail.toml").write_text(lines + 'address = "https://counter.shop.example"\n')
    return box


@pytest.fixture
def app(box: Any, data: Path, clock: Any, open_app: Any, monkeypatch: pytest.MonkeyPatch) -> Iterator[Flask]:
    monkeypatch.setattr("intake.services.documents.render_quote_pdf", lambda *_, **__: b"%PDF-1.7 quote")
    app = open_app(Settings(data=data, book=demo_book(), now=clock))
    yield app
    app.extensions["post"].stop()
    app.extensions["context"].store.close()


@pytest.fixture
def quoted(phone: Any, ticket: str, ctx: Any, client: FlaskClient) -> str:
    (path,) = (demo_book() / "walkins").glob("03-*.toml")
    pairs = to_fields(ctx.book, tomllib.loads(path.read_text("utf-8"))["answers"])
    phone.take_in(ticket, pairs)
    return str(client.post(f"/tickets/{ticket}/quotes").headers["Location"])


def wait_for(ctx: Any, ticket: str, state: str) -> outbox.Mail:
    for _ in range(4800):
        mails = outbox.of_ticket(ctx.store.db, ticket)
        if mails and mails[-1].state == state:
            return mails[-1]
        time.sleep(0.025)
    raise AssertionError([(mail.state, mail.said) for mail in outbox.of_ticket(ctx.store.db, ticket)])


def send(client: FlaskClient, quoted: str, **fields: str) -> Any:
    return client.post(f"{quoted}/mail", data={"to": "rose@home.example", **fields})


def test_from_send_to_yes(client: FlaskClient, box: Any, ctx: Any, ticket: str, quoted: str) -> None:
    assert send(client, quoted, note="As we said.\nMax", language="fr").status_code == 303
    wait_for(ctx, ticket, "sent")
    (message,) = box.messages
    text = message.get_body(("plain",)).get_content()
    assert "Votre devis" in message["Subject"] and "As we said." in text
    assert "prêt le 5 décembre 2026 avec votre accord le 25 novembre 2026" in text
    assert "10 décembre 2026 avec un accord au plus tard le 2 décembre 2026" in text
    assert message["Reply-To"] == "bench@harbourlane.example"
    found = re.search(r"https://counter\.shop\.example(/q/\S+)", text)
    assert found
    page = client.get(found[1]).text
    assert "Donner votre accord" in page
    form = dict(re.findall(r'name="(quote|total|ready)" value="([^"]*)"', page))
    jobs = re.findall(r'name="jobs" value="([^"]*)"', page)
    answer = client.post(
        f"{found[1]}/yes", data={**form, "jobs": [*set(jobs)], "name": "Rose", "agreed": "1"}
    )
    assert answer.status_code == 303
    assert decisions.go_ahead(ctx.store.db, ticket, 1)


def test_a_second_tap_queues_no_second_message(
    client: FlaskClient, box: Any, ctx: Any, ticket: str, quoted: str
) -> None:
    box.does["RCPT"] = "451 later"
    for _ in range(3):
        send(client, quoted)
    assert len(outbox.of_ticket(ctx.store.db, ticket)) == 1
    found = tickets.find(ctx.store.db, ticket)
    assert found and found.state == "sent"


def test_a_refusal_is_read_on_the_page_and_sent_again_from_there(
    client: FlaskClient, box: Any, ctx: Any, ticket: str, quoted: str
) -> None:
    box.does["RCPT"] = "550 Nobody <here>"
    send(client, quoted)
    mail = wait_for(ctx, ticket, "refused")
    page = client.get(f"{quoted}/send").text
    assert "550 Nobody &lt;here&gt;" in page and "was refused" in page
    assert "not delivered" in client.get("/").text
    box.does.clear()
    assert client.post(f"/tickets/{ticket}/mail/{mail.id}/again").status_code == 303
    wait_for(ctx, ticket, "sent")
    assert "not delivered" not in client.get("/").text
    assert client.post(f"/tickets/{ticket}/mail/{mail.id}/again").status_code == 409


def test_what_came_back_later_is_noted_by_hand_and_sent_again(
    client: FlaskClient, box: Any, ctx: Any, ticket: str, quoted: str
) -> None:
    """A notice of non-delivery goes to the shop's mailbox, which this program does not read."""
    send(client, quoted)
    mail = wait_for(ctx, ticket, "sent")
    assert "does not read it" in client.get(f"{quoted}/send").text
    assert client.post(f"/tickets/{ticket}/mail/{mail.id}/returned").status_code == 303
    assert tickets.find(ctx.store.db, ticket).state == "unsent"
    assert events.of_ticket(ctx.store.db, ticket)[-1]["what"] == "mail returned"
    page = client.get(f"{quoted}/send").text
    assert "came back" in page and f"/mail/{mail.id}/again" in page
    assert client.post(f"/tickets/{ticket}/mail/{mail.id}/returned").status_code == 409
    client.post(f"/tickets/{ticket}/mail/{mail.id}/again")
    wait_for(ctx, ticket, "sent")
    assert len(box.took) == 2 and tickets.find(ctx.store.db, ticket).state == "sent"


def test_what_was_not_sent_before_a_newer_quote_is_not_sent(
    client: FlaskClient, phone: Any, box: Any, ctx: Any, ticket: str, quoted: str, clock: Any, app: Flask
) -> None:
    box.does["RCPT"] = "451 later"
    send(client, quoted)
    wait_for_attempt(ctx, ticket)
    phone.save(ticket, "hardware-and-wiring", [("tuners", "stiff")])
    client.post(f"/tickets/{ticket}/quotes")
    box.does.clear()
    clock.move(hours=2)
    app.extensions["post"].wake()
    wait_for(ctx, ticket, "refused")
    assert box.took == []


def wait_for_attempt(ctx: Any, ticket: str) -> None:
    for _ in range(4800):
        if outbox.of_ticket(ctx.store.db, ticket)[-1].attempts:
            return
        time.sleep(0.025)
    raise AssertionError("never tried")


def test_a_wrong_address_is_said(client: FlaskClient, ctx: Any, ticket: str, quoted: str) -> None:
    answer = client.post(f"{quoted}/mail", data={"to": "rose@home.example\r\nBcc: x@y.example"})
    assert answer.status_code == 422
    assert outbox.of_ticket(ctx.store.db, ticket) == []


def test_a_queued_message_is_written_with_the_word_sent_or_not_at_all(
    client: FlaskClient, ctx: Any, ticket: str, quoted: str, monkeypatch: pytest.MonkeyPatch, app: Flask
) -> None:
    def fail(*_: object) -> None:
        raise OSError("planted")

    monkeypatch.setattr("intake.screens.quotes.sending.decisions.state", fail)
    assert send(client, quoted).status_code == 500
    assert outbox.of_ticket(ctx.store.db, ticket) == []
    found = tickets.find(ctx.store.db, ticket)
    assert found and found.state == "quoted"
