"""The https address that the shop's phones know. It is fixed at the first start and never changes by itself.

What a phone has not sent yet, its enrolment and its installed app belong to that address (the web's origin,
RFC 6454): under another one the phone would start empty.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from intake.lan.errors import AuthorityError, OriginChangedError
from intake.lan.private_files import write_private

HTTPS = 443


@dataclass(frozen=True)
class Origin:
    """An https origin: host (address or name) and port."""

    host: str
    port: int

    def __str__(self) -> str:
        return f"https://{self.host}" if self.port == HTTPS else f"https://{self.host}:{self.port}"


def origin_file(folder: Path) -> Path:
    return folder / "origin.toml"


def read_origin(folder: Path) -> Origin | None:
    """The origin fixed for this shop, or None before the first start. Raises AuthorityError if unreadable."""
    path = origin_file(folder)
    try:
        parts = urlsplit(tomllib.loads(path.read_text("utf-8"))["origin"])
        port = parts.port or HTTPS
    except FileNotFoundError:
        return None
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise AuthorityError(f'{path} does not hold origin = "https://ADDRESS:PORT".') from error
    if parts.scheme != "https" or not parts.hostname:
        raise AuthorityError(f'{path} does not hold origin = "https://ADDRESS:PORT".')
    return Origin(parts.hostname, port)


def check_origin(folder: Path, wanted: Origin) -> None:
    """Raise OriginChanged if phones know another origin than the wanted one."""
    known = read_origin(folder)
    if known not in (None, wanted):
        raise OriginChangedError(
            f"The shop's phones know the counter as {known}, and this start would make it {wanted}. "
            "What a phone has not sent yet would stay behind under the old address. Give this machine its "
            "old address back (in the router, or with --address and --port). Or, once no phone holds "
            "anything unsent, start with --new-origin and set every phone up again."
        )


def keep_origin(folder: Path, origin: Origin) -> None:
    """Fix the origin in a file that also says what it is for."""
    text = (
        "# The address that the shop's phones know; unsent entries on them belong to it.\n"
        "# To change it on purpose, start with --new-origin.\n"
        f'origin = "{origin}"\n'
    )
    write_private(origin_file(folder), text.encode())
