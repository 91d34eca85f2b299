"""What an earlier revision asked and the book in force does not is stored with its step; nothing else is."""

from __future__ import annotations

from typing import Any
from uuid import uuid4

from flask import Flask

from intake.store import revisions, tickets

TICKET = "0190a1b2-0000-7000-8000-000000000003"


def without_question(checklist: bytes, id: str) -> bytes:
    blocks = checklist.decode().split("[[question]]")
    return "[[question]]".join(block for block in blocks if f'id = "{id}"' not in block).encode()


def no_longer_asks(ctx: Any, id: str) -> None:
    before = revisions.in_force(ctx.store.db)
    assert before
    files = dict(revisions.files_of(ctx.store.db, before.number))
    files["checklist.toml"] = without_question(files["checklist.toml"], id)
    with ctx.store.writing() as db:
        revisions.put_in_force(db, "0" * 64, files, ctx.now(), "edit")


def test_the_board_and_the_export_have_a_serial_that_the_book_does_not_ask_for(
    app: Flask, phone: Any
) -> None:
    ctx = app.extensions["context"]
    no_longer_asks(ctx, "serial")

    phone.send(TICKET, {"id": str(uuid4()), "part": "serial", "value": "S 1"})

    kept = tickets.find(ctx.store.db, TICKET)
    assert kept
    assert kept.serial == "S 1"


def test_only_what_an_earlier_book_asked_on_that_step_is_kept(app: Flask, client: Any, held: Any) -> None:
    no_longer_asks(app.extensions["context"], "serial")
    sent = {
        "based_on": "0",
        "passed": "",
        "family": "ukulele",
        "serial": "S 1",
        "relief": "0.1 in",
        "state": "x",
    }
    for step in ("instrument", "player"):
        answer = client.post(
            f"/tickets/{TICKET}/steps/{step}", data=sent, headers={"Idempotency-Key": str(uuid4())}
        )
        assert answer.status_code == 200, answer.text
    assert held(TICKET) == {"family": "ukulele", "serial": "S 1"}
