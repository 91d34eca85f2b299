"""What phones are given: the root, the profile, QR codes."""

from __future__ import annotations

import plistlib
from datetime import UTC, datetime
from ipaddress import IPv4Address

import pytest
from cryptography import x509

from intake.lan.certificates import make_authority
from intake.lan.phones import ios_profile, root_der, root_pem
from intake.lan.prepare import limits_for

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
ADDRESS = "https://192.168.1.20:8643/setup/phone"


def make_root() -> x509.Certificate:
    limits = limits_for(IPv4Address("192.168.1.20"), "bench.local")
    return make_authority("Corner Frets", limits, NOW).certificate


@pytest.fixture(scope="module")
def root() -> x509.Certificate:
    return make_root()


def test_the_downloads_hold_the_certificate_and_no_key(root: x509.Certificate) -> None:
    assert x509.load_der_x509_certificate(root_der(root).content) == root
    assert x509.load_pem_x509_certificate(root_pem(root).content) == root
    for download in (root_der(root), root_pem(root), ios_profile(root, "Corner Frets")):
        assert b"PRIVATE" not in download.content
    assert root_der(root).content_type == "application/x-x509-ca-cert"
    assert root_der(root).filename.endswith(".crt")


def test_the_profile_installs_that_root(root: x509.Certificate) -> None:
    download = ios_profile(root, "Böhm & Töchter")
    profile = plistlib.loads(download.content)
    (payload,) = profile["PayloadContent"]
    assert download.content_type == "application/x-apple-aspen-config"
    assert download.filename.endswith(".mobileconfig")
    assert profile["PayloadType"] == "Configuration"
    assert profile["PayloadOrganization"] == "Böhm & Töchter"
    assert payload["PayloadType"] == "com.apple.security.root"
    assert x509.load_der_x509_certificate(payload["PayloadContent"]) == root
    assert payload["PayloadUUID"] != profile["PayloadUUID"]


def test_the_same_root_gives_the_same_profile_and_another_root_another(root: x509.Certificate) -> None:
    assert ios_profile(root, "Corner Frets") == ios_profile(root, "Corner Frets")
    mine, other = (plistlib.loads(ios_profile(one, "A").content) for one in (root, make_root()))
    assert mine["PayloadUUID"] != other["PayloadUUID"]
