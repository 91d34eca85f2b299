"""Everything that has to stand before the server serves the shop's network."""

from __future__ import annotations

import re
import socket
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from ipaddress import IPv4Address, IPv4Network
from pathlib import Path

from intake.lan.authority import Authority, authority_folder, new_authority, open_authority
from intake.lan.certificates import Limits, Names
from intake.lan.errors import AuthorityError
from intake.lan.origin import Origin, check_origin, keep_origin
from intake.lan.private_files import private_folder

LOOPBACK = IPv4Address("127.0.0.1")
LOOPBACK_NET = IPv4Network("127.0.0.0/8")
HOME_PREFIX = 24


@dataclass(frozen=True)
class Prepared:
    """What to serve with. `root_is_new`: no phone trusts this authority yet."""

    origin: Origin
    authority: Authority
    names: Names
    root_is_new: bool

    def renew(self, now: datetime) -> bool:
        """Renew the server's certificate if its time has come; true if a new one was written."""
        return self.authority.issue_if_needed(self.names, now)

    def renewer(self, clock: Callable[[], datetime]) -> Callable[[], bool]:
        """For `server.TlsFiles`."""
        return lambda: self.renew(clock())


def prepare(
    data: Path, shop: str, address: IPv4Address, port: int, now: datetime, new_origin: bool = False
) -> Prepared:
    """Fix the origin, open or make the authority, and have a fresh certificate. Raises LanError.

    With `new_origin` the origin may change, and an authority that may not speak for the new address, or
    cannot be used, gives way to a new one.
    """
    folder = authority_folder(data)
    private_folder(folder)
    origin = Origin(str(address), port)
    if not new_origin:
        check_origin(folder, origin)
    authority = _usable(data, address, now, new_origin)
    root_is_new = authority is None
    authority = authority or new_authority(data, shop, limits_for(address, machine_name()), now)
    names = _names(address, authority.limits)
    authority.issue_if_needed(names, now)
    keep_origin(folder, origin)
    return Prepared(origin, authority, names, root_is_new)


def _usable(data: Path, address: IPv4Address, now: datetime, new_origin: bool) -> Authority | None:
    try:
        authority = open_authority(data, now)
    except AuthorityError:
        if not new_origin:
            raise
        return None
    if authority and new_origin and not authority.limits.allow(Names((address,))):
        return None
    return authority


def limits_for(address: IPv4Address, name: str) -> Limits:
    """The /24 around the shop's address, this machine itself, and the machine's name on the network."""
    network = IPv4Network((address, HOME_PREFIX), strict=False)
    networks = (LOOPBACK_NET,) if network.subnet_of(LOOPBACK_NET) else (network, LOOPBACK_NET)
    return Limits(networks, (name, "localhost"))


def machine_name() -> str:
    """This machine's name as its neighbours may find it: RFC 6762's `.local`."""
    first = socket.gethostname().split(".")[0].lower()
    label = re.sub(r"[^a-z0-9-]+", "-", first).strip("-")[:63].rstrip("-")
    return f"{label or 'counter'}.local"


def _names(address: IPv4Address, limits: Limits) -> Names:
    """The address and this machine; its name only while the authority, made under that name, allows it."""
    addresses = tuple(dict.fromkeys((address, LOOPBACK)))
    dns = tuple(name for name in (machine_name(), "localhost") if limits.allow(Names((), (name,))))
    return Names(addresses, dns)
