"""Which address to serve on. What this machine has is replaced where it matters."""

from __future__ import annotations

from ipaddress import IPv4Address

import pytest

from intake.lan import address
from intake.lan.address import choose_address, is_lan, lan_addresses, source_address
from intake.lan.errors import AddressError

A, B = IPv4Address("192.168.1.20"), IPv4Address("10.0.8.5")


def test_the_default_routes_address_comes_first_and_none_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    routes = {"192.0.2.1": A, "192.168.255.254": A, "10.255.255.254": B, "172.31.255.254": A}
    monkeypatch.setattr(address, "source_address", routes.__getitem__)
    assert lan_addresses() == (A, B)


def test_a_public_address_is_none_of_the_shops(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(address, "source_address", lambda target: IPv4Address("203.0.113.9"))
    assert lan_addresses() == ()


def test_the_systems_own_answer() -> None:
    assert source_address("127.0.0.1") == IPv4Address("127.0.0.1")


@pytest.mark.parametrize(
    ("text", "lan"),
    [
        ("192.168.0.1", True),
        ("10.9.8.7", True),
        ("172.31.0.1", True),
        ("172.32.0.1", False),
        ("127.0.0.1", False),
        ("169.254.3.4", False),
        ("100.64.0.1", False),
        ("8.8.8.8", False),
    ],
)
def test_what_counts_as_the_shops_network(text: str, lan: bool) -> None:
    assert is_lan(IPv4Address(text)) is lan


def test_the_only_address_is_taken() -> None:
    assert choose_address(None, [A]) == A


def test_several_addresses_are_listed() -> None:
    with pytest.raises(AddressError, match=r"192\.168\.1\.20, 10\.0\.8\.5.*--address"):
        choose_address(None, [A, B])


def test_no_address_says_what_to_do() -> None:
    with pytest.raises(AddressError, match="--address"):
        choose_address(None, [])


def test_the_wanted_address_must_be_this_machines() -> None:
    assert choose_address("127.0.0.1", [A]) == IPv4Address("127.0.0.1")
    for wrong, why in (("192.168.255.77", "does not have"), ("8.8.8.8", "private"), ("bench", "IPv4")):
        with pytest.raises(AddressError, match=why):
            choose_address(wrong, [A])
