"""kill -9 while quotes go out by mail, to a real SMTP server that lives on in another process."""

from __future__ import annotations

import asyncio
import re
import socket
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from email import message_from_bytes, policy
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from faulty.crashes import killed
from faulty.trial import Trial, broken
from intake.mail.letter import Letter
from intake.mail.sender import Sender
from intake.mail.settings import MailSettings
from intake.store import links, outbox, tickets
from intake.store.db import Store
from intake.store.outbox import Mail

HOST, PORT_FILE, TICKET = "127.0.0.1", "port", "t-1"
SETTLING = 120.0
SAW = "the mail server took it; or, for a person to decide: may have gone: the line broke before the answer"


@dataclass
class Letterbox:
    """What the server took, as bytes; its yes comes a little later: some are killed between the two."""

    took: list[bytes] = field(default_factory=list)

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        self.took.append(envelope.content)
        await asyncio.sleep(0.01)
        return "250 taken"

    def tokens(self) -> Iterator[tuple[str, str]]:
        """Message-ID and link token of everything taken."""
        for raw in self.took:
            message = message_from_bytes(raw, policy=policy.default)
            body = message.get_body(("plain",))  # type: ignore[attr-defined]
            found = re.search(r"/q/(\S+)", body.get_content() if body else "")
            yield message["Message-ID"], found[1] if found else ""


@contextmanager
def letterbox() -> Iterator[tuple[Letterbox, int]]:
    """A mail server on a free loopback port for as long as the block runs."""
    from aiosmtpd.controller import Controller

    box = Letterbox()
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        port = probe.getsockname()[1]
    controller = Controller(box, hostname=HOST, port=port)
    controller.start()
    try:
        yield box, port
    finally:
        controller.stop()


def office(store: Store, port: int) -> Sender:
    """The shop's sender, with a letter as short as can be."""
    settings = MailSettings(HOST, port, "none", "bench@shop.example")
    return Sender(store, settings, now, _letter, lambda mail: now() + timedelta(days=30))


def now() -> datetime:
    return datetime.now(UTC)


def _letter(mail: Mail, token: str) -> Letter:
    text = f"Look: {mail.address}/q/{token}\n"
    return Letter(
        mail.message_id, "bench@shop.example", "Corner Bench", mail.recipient, "Your quote", text,
        f"<p>{text}</p>", "en", now(), pdf=bytes(range(256)) * 80, pdf_name="quote.pdf",
    )  # fmt: skip


def put(db: Database, number: int) -> int:
    """What "Send" does within its transaction: the message stands in the outbox, or nothing was said."""
    return outbox.put(
        db, TICKET, 1, recipient=f"rose{number}@home.example", language="en", address="http://shop.example",
        domain="shop.example", now=now(),
    )  # fmt: skip


def sends(folder: Path, times: int, seed: int) -> Trial:
    """What was put is sent, or a person is asked; nothing taken goes twice; each letter's link works."""
    store = Store(folder / "shop")
    with store.writing() as db:
        tickets.ensure(db, TICKET, now())
    store.close()
    with letterbox() as (box, port):
        (folder / PORT_FILE).write_text(str(port), "utf-8")
        told = [int(line) for line in killed("sends", folder, times, seed)]
        _let_settle(folder / "shop", port)
    store = Store(folder / "shop")
    mails = outbox.of_ticket(store.db, TICKET)
    lost, doubled = _lost(store.db, told, mails, box), _doubled(box)
    store.close()
    unsure = sum(mail.state == "unsure" for mail in mails)
    name = (
        f"kill -9 while sending mail ({len(told)} put in the outbox, {len(box.took)} taken by the server,"
        f" {unsure} for a person to decide, {doubled} doubled)"
    )
    return Trial(name, times, lost + doubled + broken(folder / "shop"), SAW)


def _let_settle(shop: Path, port: int) -> None:
    """A last start, left alone until nothing waits, or until what waits has not moved for long."""
    store = Store(shop)
    sender = office(store, port)
    sender.start()
    waits, moved = _waiting(store), time.monotonic()
    while waits and time.monotonic() - moved < SETTLING:
        time.sleep(0.05)
        before, waits = waits, _waiting(store)
        moved = moved if waits == before else time.monotonic()
    sender.stop()
    store.close()


def _waiting(store: Store) -> set[int]:
    return {mail.id for mail in outbox.of_ticket(store.db, TICKET) if mail.state in ("waiting", "sending")}


def _lost(db: Database, told: list[int], mails: list[Mail], box: Letterbox) -> int:
    """Messages that vanished, still wait, are called sent without having gone, or went with a dead link."""
    taken = dict(box.tokens())
    lost = len(set(told) - {mail.id for mail in mails})
    lost += sum(mail.state not in ("sent", "unsure") for mail in mails)
    lost += sum(mail.state == "sent" and mail.message_id not in taken for mail in mails)
    lost += len(set(taken) - {mail.message_id for mail in mails})
    return lost + sum(links.find(db, token) is None for token in taken.values())


def _doubled(box: Letterbox) -> int:
    return sum(times - 1 for times in Counter(id for id, _ in box.tokens()).values())
