"""The addresses of this machine on the shop's network, found without sending anything."""

from __future__ import annotations

import socket
from collections.abc import Sequence
from ipaddress import IPv4Address, IPv4Network

from intake.lan.errors import AddressError

# RFC 1918; `is_private` says yes to more than what a shop's router hands out.
PRIVATE = tuple(IPv4Network(net) for net in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16"))
# The system is asked which of its addresses it would use to reach these: one in each private range, and one
# outside (RFC 5737, for documentation) that leads to the default route.
PROBES = ("192.0.2.1", "192.168.255.254", "10.255.255.254", "172.31.255.254")


def lan_addresses() -> tuple[IPv4Address, ...]:
    """This machine's private addresses, that of the default route first; empty without a network."""
    found = (source_address(probe) for probe in PROBES)
    return tuple(dict.fromkeys(address for address in found if address and is_lan(address)))


def source_address(target: str) -> IPv4Address | None:
    """The address this machine would send from to reach `target`; connecting UDP sends no packet."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect((target, 9))
        except OSError:
            return None
        return IPv4Address(asked.getsockname()[0])


def is_lan(address: IPv4Address) -> bool:
    """Whether it lies in a range that a shop's network may use."""
    return any(address in network for network in PRIVATE)


def choose_address(wanted: str | None, found: Sequence[IPv4Address]) -> IPv4Address:
    """The address to serve on: the wanted one, or the only one. Raises AddressError that lists the choice."""
    if wanted is not None:
        return own_address(wanted)
    if not found:
        raise AddressError(
            "This machine has no address on a private network. Connect it to the shop's network, or name its "
            "address with --address."
        )
    if len(found) > 1:
        listed = ", ".join(map(str, found))
        raise AddressError(f"This machine has several addresses: {listed}. Choose one with --address.")
    return found[0]


def own_address(text: str) -> IPv4Address:
    """A private or loopback address of this machine, from text. Raises AddressError."""
    try:
        address = IPv4Address(text)
    except ValueError as error:
        raise AddressError(f"--address {text} is not an IPv4 address such as 192.168.1.20.") from error
    if not (is_lan(address) or address.is_loopback):
        raise AddressError(
            f"{address} is not an address of a private network; the shop's data stay in the shop."
        )
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as tried:
        try:
            tried.bind((text, 0))
        except OSError as error:
            raise AddressError(f"This machine does not have the address {address}.") from error
    return address
