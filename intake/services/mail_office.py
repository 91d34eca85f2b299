"""The shop's post: its settings, its sender, and where customers reach this program."""

from __future__ import annotations

import ipaddress
import logging
from urllib.parse import urlsplit

from intake.mail import settings as mail_settings
from intake.mail.sender import Sender
from intake.mail.settings import MailSettings, MailSettingsError
from intake.services.context import Context
from intake.services.quote_letter import expires, writer

log = logging.getLogger(__name__)


class MailOffice:
    """`settings` is None where no mail is set up, `trouble` the sentence about settings that do not serve."""

    def __init__(self, ctx: Context) -> None:
        self.settings: MailSettings | None = None
        self.trouble = ""
        self.sender: Sender | None = None
        try:
            self.settings = mail_settings.load(ctx.store.folder)
        except MailSettingsError as error:
            self.trouble = str(error)
            log.error("post: %s", error)
        if self.settings:
            self.sender = Sender(ctx.store, self.settings, ctx.now, writer(ctx, self.settings), expires(ctx))

    def start(self) -> None:
        if self.sender:
            self.sender.start()

    def stop(self) -> None:
        if self.sender:
            self.sender.stop()

    def wake(self) -> None:
        if self.sender:
            self.sender.wake()

    def address(self, asked_at: str) -> str:
        """Where a customer's link begins, without a slash at its end."""
        return (self.settings.address if self.settings else "") or asked_at.rstrip("/")

    def reachable(self, asked_at: str) -> bool:
        """False where the address works only inside the shop: loopback, a private number, a `.local` name."""
        host = urlsplit(self.address(asked_at)).hostname or ""
        try:
            return ipaddress.ip_address(host).is_global
        except ValueError:
            return "." in host and not host.endswith((".local", ".localhost", ".lan", ".home.arpa"))
