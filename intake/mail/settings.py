"""How the shop's mail leaves: `mail.toml` in the data folder, with the environment over it.

    host = "smtp.example"
    port = 587              # 465 for security = "tls"
    security = "starttls"   # or "tls"; "none" only for a server on this machine
    user = "bench"
    password = "…"          # better: TALLYFRET_SMTP_PASSWORD
    sender = "bench@example"
    address = "https://counter.example"   # where customers reach this program

Each may be given as TALLYFRET_SMTP_HOST and so on.
"""

from __future__ import annotations

import os
import shlex
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal, cast

from intake.store.files import open_to_others

Security = Literal["starttls", "tls", "none"]
KEYS = ("host", "port", "security", "user", "password", "sender", "address", "authority")
PORTS = {"starttls": 587, "tls": 465, "none": 25}
LOOPBACK = frozenset({"localhost", "127.0.0.1", "::1"})
FILE = "mail.toml"


class MailSettingsError(ValueError):
    """The settings cannot be used: one sentence, which never holds the password."""


@dataclass(frozen=True)
class MailSettings:
    """`address`: where customers reach this program, "" for as staff reach it. `authority`: a file with the
    certificate of a private authority that the server's own is signed by."""

    host: str
    port: int
    security: Security
    sender: str
    user: str = ""
    password: str = field(default="", repr=False)
    address: str = ""
    authority: str = ""

    @property
    def domain(self) -> str:
        """What the Message-IDs end in."""
        return self.sender.rpartition("@")[2]


def load(folder: Path, environment: Mapping[str, str] = os.environ) -> MailSettings | None:
    """The settings; None where no mail is set up. Raises MailSettingsError."""
    given = {**_file(folder / FILE), **_environment(environment)}
    if not given.get("host"):
        return None
    security = given.get("security", "starttls")
    if security not in PORTS:
        raise MailSettingsError(f"{FILE}: security is starttls, tls or none, not “{security}”.")
    if security == "none" and given["host"] not in LOOPBACK:
        raise MailSettingsError(f"{FILE}: without TLS mail goes only to a server on this machine.")
    if "@" not in given.get("sender", "") or not given["sender"].isascii():
        raise MailSettingsError(f"{FILE}: sender is the shop's mail address.")
    address = given.get("address", "").rstrip("/")
    if address and not address.startswith(("https://", "http://")):
        raise MailSettingsError(f"{FILE}: address begins with https://.")
    return MailSettings(
        host=given["host"],
        port=_port(given.get("port", ""), security),
        security=cast(Security, security),
        sender=given["sender"],
        user=given.get("user", ""),
        password=given.get("password", ""),
        address=address,
        authority=given.get("authority", ""),
    )


def _file(path: Path) -> dict[str, str]:
    if not path.is_file():
        return {}
    try:
        table = tomllib.loads(path.read_text("utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError):
        # The parser's own words could quote the line with the password.
        raise MailSettingsError(f"{FILE} is not TOML that can be read.") from None
    if table.get("password") and open_to_others(path):
        raise MailSettingsError(
            f"Other users of this machine may read the password in {FILE}, so it is not used. "
            f"Close it: chmod 600 {shlex.quote(str(path))}"
        )
    unknown = sorted(set(table) - set(KEYS))
    if unknown:
        raise MailSettingsError(f"{FILE}: “{unknown[0]}” is not known here.")
    return {key: str(value) for key, value in table.items()}


def _environment(environment: Mapping[str, str]) -> dict[str, str]:
    named = {key: environment.get(f"TALLYFRET_SMTP_{key.upper()}", "") for key in KEYS}
    return {key: value for key, value in named.items() if value}


def _port(written: str, security: str) -> int:
    if not written:
        return PORTS[security]
    if not (written.isdigit() and 0 < int(written) < 65536):
        raise MailSettingsError(f"{FILE}: port is a number from 1 to 65535.")
    return int(written)
