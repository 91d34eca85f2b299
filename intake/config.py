"""Where things are: templates and the demo book beside the code, the shop's data on this machine."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from ipaddress import IPv4Network, IPv6Network, ip_address, ip_network
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import platformdirs

DATA_VARIABLE = "TALLYFRET_DATA"
SETTINGS_FILE = "tallyfret.toml"
PORT = 8642
TABLES = ("backup", "server")
MOST_PROXIES = 5
PACKAGE = Path(__file__).resolve().parent


def data_root() -> Path:
    """The folder with `templates`, `static` and `pricing_demo`: in the wheel, else the checkout's top."""
    packed = PACKAGE / "_data"
    return packed if packed.is_dir() else PACKAGE.parent


def demo_book() -> Path:
    """The demo shop's book."""
    return data_root() / "pricing_demo"


def data_folder(given: str | Path | None = None) -> Path:
    """The shop's data: as given, else from TALLYFRET_DATA, else the user's data folder."""
    return Path(given or os.environ.get(DATA_VARIABLE) or platformdirs.user_data_path("tallyfret"))


class SettingsError(ValueError):
    """The settings file cannot be used: one sentence that names file and key."""


def settings_table(data: Path, name: str) -> dict[str, Any]:
    """One table of `tallyfret.toml` in the data folder; empty where it is not there. Raises SettingsError."""
    path = data / SETTINGS_FILE
    try:
        tables = tomllib.loads(path.read_text("utf-8-sig")) if path.is_file() else {}
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise SettingsError(f"{path} is not TOML that can be read: {error}.") from None
    if unknown := sorted(set(tables) - set(TABLES)):
        known = " and ".join(f"[{table}]" for table in TABLES)
        raise SettingsError(f"{path} knows no “{unknown[0]}”; it has {known}.")
    table = tables.get(name, {})
    if not isinstance(table, dict):
        raise SettingsError(f"{path}: {name} is a table, [{name}].")
    return table


@dataclass(frozen=True)
class ServerSettings:
    """The table `[server]`: how many reverse proxies stand before the server, the networks that they ask
    from, and the address that phones know where a proxy gives it."""

    proxies: int = 0
    proxies_at: tuple[IPv4Network | IPv6Network, ...] = (ip_network("127.0.0.0/8"), ip_network("::1/128"))
    origin: str | None = None

    def is_proxy(self, peer: str) -> bool:
        """Whether one of the shop's proxies asks; an IPv4 address counts as such on an IPv6 listener too."""
        try:
            address = ip_address(peer)
        except ValueError:
            return False
        address = getattr(address, "ipv4_mapped", None) or address
        return self.proxies > 0 and any(address in network for network in self.proxies_at)


def server_settings(data: Path) -> ServerSettings:
    """What `tallyfret.toml` says of the server, else the usual. Raises SettingsError."""
    table, file = settings_table(data, "server"), data / SETTINGS_FILE
    unknown = sorted(set(table) - {"proxies", "proxies_at", "origin"})
    if unknown:
        raise SettingsError(f"{file}: [server] knows no “{unknown[0]}”.")
    proxies, at, origin = table.get("proxies", 0), table.get("proxies_at"), table.get("origin")
    if type(proxies) is not int or not 0 <= proxies <= MOST_PROXIES:
        raise SettingsError(f"{file}: [server] proxies is how many stand before it, 0 to {MOST_PROXIES}.")
    if origin is not None and not _is_origin(origin):
        raise SettingsError(f"{file}: [server] origin is an address such as “https://counter.example.org”.")
    try:
        networks = ServerSettings.proxies_at if at is None else tuple(map(ip_network, at))
    except (ValueError, TypeError):
        raise SettingsError(f"{file}: [server] proxies_at lists addresses such as “172.18.0.0/16”.") from None
    return ServerSettings(proxies, networks, origin)


def _is_origin(written: Any) -> bool:
    """Whether it is scheme, host and perhaps port, and nothing else."""
    try:
        parts = urlsplit(written)
        bare = f"{parts.scheme}://{parts.netloc}" == written and "@" not in parts.netloc
        return bare and parts.scheme in ("https", "http") and bool(parts.hostname) and parts.port != 0
    except (ValueError, TypeError, AttributeError):
        return False


def utc_now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True)
class Settings:
    """`data` is the folder of the store, `book` that of the price book, `now` the clock."""

    data: Path
    book: Path = field(default_factory=demo_book)
    now: Callable[[], datetime] = utc_now

    def __post_init__(self) -> None:
        """Flask takes a relative file for one beside its own code, not beside whoever started it."""
        object.__setattr__(self, "data", self.data.absolute())
