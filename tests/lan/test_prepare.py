"""What `serve --lan` finds or makes before it serves, and the origin that it never changes by itself."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from ipaddress import IPv4Address
from pathlib import Path

import pytest

from intake.lan import prepare as preparing
from intake.lan.authority import authority_folder
from intake.lan.errors import AuthorityError, LanError, OriginChangedError
from intake.lan.origin import Origin, keep_origin, read_origin
from intake.lan.prepare import Prepared, machine_name, prepare

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
HOME, NEXT_DOOR, MOVED = map(IPv4Address, ("192.168.1.20", "192.168.1.37", "10.0.8.5"))


def start(data: Path, address: IPv4Address = HOME, port: int = 8643, new_origin: bool = False) -> Prepared:
    return prepare(data, "Corner Frets", address, port, NOW, new_origin)


def test_the_first_start_makes_everything_and_the_second_nothing(tmp_path: Path) -> None:
    first, second = start(tmp_path), start(tmp_path)
    assert (first.root_is_new, second.root_is_new) == (True, False)
    assert first.authority.root.certificate == second.authority.root.certificate
    assert str(second.origin) == "https://192.168.1.20:8643"
    assert not second.renew(NOW)
    assert second.renewer(lambda: NOW + timedelta(days=70))()


@pytest.mark.parametrize(("address", "port"), [(NEXT_DOOR, 8643), (HOME, 9000), (MOVED, 8643)])
def test_another_address_or_port_is_refused_and_nothing_is_touched(
    tmp_path: Path, address: IPv4Address, port: int
) -> None:
    start(tmp_path)
    before = {path: path.read_bytes() for path in authority_folder(tmp_path).iterdir()}
    with pytest.raises(OriginChangedError, match="--new-origin") as refused:
        start(tmp_path, address, port)
    assert "https://192.168.1.20:8643" in str(refused.value)
    assert f"https://{address}:{port}" in str(refused.value)
    assert {path: path.read_bytes() for path in authority_folder(tmp_path).iterdir()} == before


def test_on_purpose_within_the_network_the_phones_trust_stays(tmp_path: Path) -> None:
    first = start(tmp_path)
    moved = start(tmp_path, NEXT_DOOR, new_origin=True)
    assert not moved.root_is_new
    assert moved.authority.root.certificate == first.authority.root.certificate
    assert start(tmp_path, NEXT_DOOR).origin == Origin("192.168.1.37", 8643)


def test_on_purpose_in_another_network_the_authority_is_new(tmp_path: Path) -> None:
    first = start(tmp_path)
    moved = start(tmp_path, MOVED, new_origin=True)
    assert moved.root_is_new
    assert moved.authority.root.certificate != first.authority.root.certificate
    assert not start(tmp_path, MOVED).root_is_new


def test_a_ruined_authority_gives_way_only_on_purpose(tmp_path: Path) -> None:
    start(tmp_path)
    (authority_folder(tmp_path) / "root-key.pem").write_bytes(b"")
    with pytest.raises(AuthorityError, match="--new-origin"):
        start(tmp_path)
    assert start(tmp_path, new_origin=True).root_is_new


@pytest.mark.skipif(os.name != "posix", reason="rights of this kind are POSIX")
def test_rights_are_asked_before_anything_is_written(tmp_path: Path) -> None:
    authority_folder(tmp_path).mkdir(mode=0o755)
    with pytest.raises(AuthorityError, match="chmod 700"):
        start(tmp_path)
    assert not list(authority_folder(tmp_path).iterdir())


def test_a_renamed_machine_keeps_its_certificate_going(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    start(tmp_path)
    monkeypatch.setattr(preparing, "machine_name", lambda: "another.local")
    assert start(tmp_path).names.dns == ("localhost",)


@pytest.mark.parametrize(
    ("host", "name"),
    [("Front Desk", "front-desk.local"), ("bench.shop.lan", "bench.local"), ("_", "counter.local")],
)
def test_the_machines_name_is_one_that_a_certificate_takes(
    host: str, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(preparing.socket, "gethostname", lambda: host)
    assert machine_name() == name


def test_an_origin_is_read_as_it_was_kept(tmp_path: Path) -> None:
    assert read_origin(tmp_path) is None
    for origin in (Origin("192.168.1.20", 8643), Origin("bench.local", 443)):
        keep_origin(tmp_path, origin)
        assert read_origin(tmp_path) == origin


@pytest.mark.parametrize(
    "text", ["", "origin = 3", 'origin = "http://192.168.1.20"', 'origin = "https://a:b"', "{"]
)
def test_a_spoilt_origin_file_is_named_and_never_overwritten(tmp_path: Path, text: str) -> None:
    start(tmp_path)
    path = authority_folder(tmp_path) / "origin.toml"
    path.write_text(text)
    with pytest.raises(LanError, match=r"origin\.toml"):
        start(tmp_path)
    assert path.read_text() == text
