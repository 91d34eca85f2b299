"""A real SMTP server on loopback that can refuse, stall, drop the line, deliver twice, and demand TLS and a
login."""

from __future__ import annotations

import asyncio
import socket
import ssl
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from email import message_from_bytes, policy
from email.message import EmailMessage
from ipaddress import IPv4Address, IPv4Network
from pathlib import Path
from typing import Any

import pytest

from intake.lan.certificates import Limits, Names, issue_leaf, make_authority
from intake.mail.letter import Letter
from intake.mail.sender import Sender, Timing
from intake.mail.settings import MailSettings
from intake.store import outbox, tickets
from intake.store.db import Store

USER, PASSWORD = "bench", "correct horse battery"


@dataclass
class Box:
    """What the server takes, and how it behaves: `does` maps a command to what it answers."""

    does: dict[str, Any] = field(default_factory=dict)
    took: list[bytes] = field(default_factory=list)
    said: list[str] = field(default_factory=list)
    port: int = 0

    @property
    def messages(self) -> list[EmailMessage]:
        return [message_from_bytes(raw, policy=policy.default) for raw in self.took]  # type: ignore[misc]

    async def handle_MAIL(self, server: Any, session: Any, envelope: Any, address: str, options: Any) -> str:
        envelope.mail_from = address
        return await self._answer("MAIL", server, "250 OK")

    async def handle_RCPT(self, server: Any, session: Any, envelope: Any, address: str, options: Any) -> str:
        envelope.rcpt_tos.append(address)
        return await self._answer("RCPT", server, "250 OK")

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        if not self.does.get("DATA", "250").startswith(("4", "5")):
            self.took += [envelope.content] * (2 if self.does.get("DATA") == "twice" else 1)
        return await self._answer("DATA", server, "250 taken as 17")

    async def _answer(self, command: str, server: Any, usual: str) -> str:
        self.said.append(command)
        answer = self.does.get(command, usual)
        if answer == "stall":
            await asyncio.sleep(30)
        if answer == "drop":
            server.transport.abort()
            await asyncio.sleep(0)
        return answer if answer not in ("stall", "drop", "twice") else usual


class Login:
    """One user, one password."""

    def __call__(self, server: Any, session: Any, envelope: Any, mechanism: str, data: Any) -> Any:
        from aiosmtpd.smtp import AuthResult, LoginPassword

        right = isinstance(data, LoginPassword) and (data.login, data.password) == (
            USER.encode(), PASSWORD.encode(),
        )  # fmt: skip
        return AuthResult(success=right, handled=False)


@pytest.fixture
def serve() -> Iterator[Callable[..., Box]]:
    """Starts a server: `serve(does={"RCPT": "550 nobody"}, tls="starttls", context=…)`."""
    aiosmtpd = pytest.importorskip("aiosmtpd.controller", reason="no aiosmtpd, so mail was not tried")
    running: list[Any] = []

    def start(
        does: dict[str, Any] | None = None, tls: str = "", context: ssl.SSLContext | None = None
    ) -> Box:
        box = Box(does or {})
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            box.port = probe.getsockname()[1]
        more: dict[str, Any] = {}
        if tls == "starttls":
            more = {"tls_context": context, "require_starttls": True}
        if tls:
            more |= {
                "authenticator": Login(),
                "auth_required": tls == "starttls",
                "auth_require_tls": tls == "starttls",
            }
        controller = aiosmtpd.Controller(
            box, hostname="127.0.0.1", port=box.port, ssl_context=context if tls == "tls" else None, **more
        )
        controller.start()
        running.append(controller)
        return box

    yield start
    for controller in running:
        controller.stop()


@pytest.fixture
def certificate(tmp_path: Path) -> tuple[Path, ssl.SSLContext]:
    """A private authority's file, and a server context with a certificate that it signed for 127.0.0.1."""
    now = datetime.now(UTC)
    own = IPv4Address("127.0.0.1")
    root = make_authority("Mail", Limits((IPv4Network("127.0.0.0/8"),), ("localhost",)), now)
    leaf = issue_leaf(root, Names((own,), ("localhost",)), now)
    authority, server = tmp_path / "root.pem", tmp_path / "server.pem"
    authority.write_bytes(root.certificate_pem())
    server.write_bytes(leaf.certificate_pem() + leaf.key_pem())
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.load_cert_chain(server)
    return authority, context


@dataclass
class Office:
    """A store with a ticket, and senders for a box."""

    store: Store
    ticket: str
    clock: Any

    def put(self, to: str = "rose@home.example", now: datetime | None = None) -> int:
        with self.store.writing() as db:
            return outbox.put(
                db, self.ticket, 1, recipient=to, language="en", address="http://shop.example",
                domain="shop.example", now=now or self.clock(),
            )  # fmt: skip

    def mail(self, id: int) -> outbox.Mail:
        found = outbox.find(self.store.db, id)
        assert found
        return found

    def sender(self, box: Box, **more: Any) -> Sender:
        silence = more.pop("silence", 60.0)
        settings = MailSettings(
            "127.0.0.1", box.port, more.pop("security", "none"), "bench@shop.example", **more
        )
        return Sender(
            self.store, settings, self.clock, self._write, lambda mail: self.clock() + timedelta(days=30),
            Timing(silence, 120.0),
        )  # fmt: skip

    def _write(self, mail: outbox.Mail, token: str) -> Letter:
        return Letter(
            mail.message_id, "bench@shop.example", "Corner Bench", mail.recipient, "Your quote 1-1",
            f"Look: http://shop.example/q/{token}\n.a line that begins with a dot\n",
            f'<p><a href="http://shop.example/q/{token}">Look</a></p>', "en", self.clock(),
            pdf=b"%PDF-1.7 \r\n.\r\n " + bytes(range(256)), pdf_name="quote-1-1.pdf",
        )  # fmt: skip


@pytest.fixture
def office(tmp_path: Path, clock: Any) -> Iterator[Office]:
    store = Store(tmp_path / "shop")
    with store.writing() as db:
        tickets.ensure(db, "t", clock())
    yield Office(store, "t", clock)
    store.close()
