"""The authority on disk: rights, renewal by the calendar, and faults that a person can mend."""

from __future__ import annotations

import os
import stat
from datetime import UTC, datetime, timedelta
from ipaddress import IPv4Address
from pathlib import Path

import pytest
from cryptography import x509

from intake.lan.authority import Authority, authority_folder, new_authority, open_authority
from intake.lan.certificates import Names
from intake.lan.errors import AuthorityError
from intake.lan.prepare import limits_for

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
HOME = IPv4Address("192.168.1.20")
LIMITS = limits_for(HOME, "bench.local")
NAMES = Names((HOME,), ("bench.local",))
posix = pytest.mark.skipif(os.name != "posix", reason="rights of this kind are POSIX")


@pytest.fixture
def authority(tmp_path: Path) -> Authority:
    return new_authority(tmp_path, "Corner Frets", LIMITS, NOW)


def server_certificate(authority: Authority) -> x509.Certificate:
    return x509.load_pem_x509_certificate(authority.server_file.read_bytes())


def test_no_authority_before_one_is_made(tmp_path: Path) -> None:
    assert open_authority(tmp_path, NOW) is None


def test_the_same_authority_at_every_start(tmp_path: Path, authority: Authority) -> None:
    again = open_authority(tmp_path, NOW + timedelta(days=900))
    assert again is not None
    assert again.root.certificate == authority.root.certificate
    assert again.root.key.private_numbers() == authority.root.key.private_numbers()


@posix
def test_nobody_else_may_read_what_is_written(authority: Authority) -> None:
    authority.issue_if_needed(NAMES, NOW)
    modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in authority.folder.iterdir()}
    assert modes == {"root.pem": 0o600, "root-key.pem": 0o600, "server.pem": 0o600}
    assert stat.S_IMODE(authority.folder.stat().st_mode) == 0o700


@posix
@pytest.mark.parametrize(
    ("name", "loose", "mend"), [("", 0o750, "chmod 700"), ("root-key.pem", 0o640, "chmod 600")]
)
def test_looser_rights_are_refused_with_the_remedy(
    tmp_path: Path, authority: Authority, name: str, loose: int, mend: str
) -> None:
    path = authority.folder / name
    path.chmod(loose)
    with pytest.raises(AuthorityError, match=mend) as refused:
        open_authority(tmp_path, NOW)
    assert str(path) in str(refused.value)
    path.chmod(int(mend.split()[1], 8))
    assert open_authority(tmp_path, NOW)


def test_renewal_by_the_calendar(authority: Authority) -> None:
    assert authority.issue_if_needed(NAMES, NOW)
    first = server_certificate(authority)
    assert not authority.issue_if_needed(NAMES, NOW + timedelta(days=60))
    assert server_certificate(authority) == first
    later = NOW + timedelta(days=60, seconds=1)
    assert authority.issue_if_needed(NAMES, later)
    assert server_certificate(authority).not_valid_after_utc == later + timedelta(days=90)


def test_a_year_of_daily_questions_leaves_no_day_without_a_certificate(authority: Authority) -> None:
    written = 0
    for day in range(366):
        now = NOW + timedelta(days=day)
        written += authority.issue_if_needed(NAMES, now)
        leaf = server_certificate(authority)
        assert leaf.not_valid_before_utc <= now < leaf.not_valid_after_utc - timedelta(days=29)
    assert written == 6


def test_the_authoritys_last_month_does_not_write_a_certificate_every_hour(authority: Authority) -> None:
    near_end = authority.ends - timedelta(days=20)
    assert authority.issue_if_needed(NAMES, near_end)
    assert not authority.issue_if_needed(NAMES, near_end + timedelta(hours=1))


@pytest.mark.parametrize("content", [b"", b"nonsense", b"-----BEGIN CERTIFICATE-----\nAA==\n"])
def test_a_broken_certificate_is_written_anew(authority: Authority, content: bytes) -> None:
    authority.issue_if_needed(NAMES, NOW)
    authority.server_file.write_bytes(content)
    assert authority.issue_if_needed(NAMES, NOW)
    assert server_certificate(authority)


def test_a_certificate_for_other_names_or_of_another_authority_is_written_anew(
    tmp_path: Path, authority: Authority
) -> None:
    authority.issue_if_needed(NAMES, NOW)
    assert authority.issue_if_needed(Names((HOME,)), NOW)
    other = new_authority(tmp_path / "other", "Corner Frets", LIMITS, NOW)
    other.issue_if_needed(NAMES, NOW)
    authority.server_file.write_bytes(other.server_file.read_bytes())
    assert authority.issue_if_needed(NAMES, NOW)


def test_names_beyond_the_limits_are_not_signed(authority: Authority) -> None:
    with pytest.raises(AuthorityError, match="--new-origin"):
        authority.issue_if_needed(Names((IPv4Address("192.168.2.20"),)), NOW)
    assert not authority.server_file.exists()


def test_a_lost_or_foreign_key_is_named(tmp_path: Path, authority: Authority) -> None:
    other = new_authority(tmp_path / "other", "Corner Frets", LIMITS, NOW)
    key = authority.folder / "root-key.pem"
    key.write_bytes((other.folder / "root-key.pem").read_bytes())
    with pytest.raises(AuthorityError, match="do not belong together"):
        open_authority(tmp_path, NOW)
    key.write_bytes(b"nonsense")
    with pytest.raises(AuthorityError, match="cannot be read"):
        open_authority(tmp_path, NOW)
    key.unlink()
    with pytest.raises(AuthorityError, match=r"root-key\.pem is missing"):
        open_authority(tmp_path, NOW)


def test_an_ended_authority_says_so(tmp_path: Path, authority: Authority) -> None:
    with pytest.raises(AuthorityError, match="ended on 2036-11-25"):
        open_authority(tmp_path, authority.ends)


def test_a_start_that_broke_off_after_the_key_makes_a_whole_authority(tmp_path: Path) -> None:
    folder = authority_folder(tmp_path)
    folder.mkdir(mode=0o700)
    (folder / "root-key.pem").write_bytes(b"half a ke")
    assert open_authority(tmp_path, NOW) is None
    new_authority(tmp_path, "Corner Frets", LIMITS, NOW)
    assert open_authority(tmp_path, NOW)
