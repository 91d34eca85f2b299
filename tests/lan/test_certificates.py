"""Chains are judged by other people's verifiers: cryptography's, Python's ssl (OpenSSL), openssl, curl."""

from __future__ import annotations

import hashlib
import re
import shutil
import subprocess
from datetime import UTC, datetime, timedelta
from ipaddress import IPv4Address, IPv4Network
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError
from hypothesis import given
from hypothesis import strategies as st

from intake.lan.certificates import (
    Limits,
    Names,
    Pair,
    fingerprint,
    issue_leaf,
    limits_of,
    make_authority,
    names_of,
)

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
HOME = IPv4Address("192.168.1.20")
LIMITS = Limits((IPv4Network("192.168.1.0/24"), IPv4Network("127.0.0.0/8")), ("bench.local", "localhost"))
WITHIN = Names((HOME, IPv4Address("127.0.0.1")), ("bench.local", "localhost"))
openssl = pytest.mark.skipif(not shutil.which("openssl"), reason="needs the openssl command")


@pytest.fixture(scope="module")
def root() -> Pair:
    return make_authority("Corner Frets", LIMITS, NOW)


def accepts(root: Pair, leaf: Pair, name: x509.GeneralName, when: datetime) -> bool:
    """What cryptography's own verifier says of the chain, asked for that name at that time."""
    store = Store([root.certificate])
    verifier = PolicyBuilder().store(store).time(when).build_server_verifier(name)  # type: ignore[arg-type]
    try:
        verifier.verify(leaf.certificate, [])
    except VerificationError:
        return False
    return True


@pytest.mark.parametrize("name", WITHIN.general(), ids=str)
def test_a_verifier_takes_the_shops_names(root: Pair, name: x509.GeneralName) -> None:
    assert accepts(root, issue_leaf(root, WITHIN, NOW), name, NOW)


@pytest.mark.parametrize(
    ("names", "asked"),
    [
        (Names((), ("example.org",)), x509.DNSName("example.org")),
        (Names((), ("notbench.local",)), x509.DNSName("notbench.local")),
        (Names((IPv4Address("192.168.2.20"),)), x509.IPAddress(IPv4Address("192.168.2.20"))),
        (Names((IPv4Address("203.0.113.7"),)), x509.IPAddress(IPv4Address("203.0.113.7"))),
        (Names((HOME,), ("example.org",)), x509.IPAddress(HOME)),
    ],
)
def test_a_verifier_refuses_names_beyond_the_limits(
    root: Pair, names: Names, asked: x509.GeneralName
) -> None:
    assert not LIMITS.allow(names)
    assert not accepts(root, issue_leaf(root, names, NOW), asked, NOW)


def test_another_authority_is_refused(root: Pair) -> None:
    other = make_authority("Corner Frets", LIMITS, NOW)
    assert not accepts(other, issue_leaf(root, WITHIN, NOW), x509.IPAddress(HOME), NOW)


def test_a_leaf_lives_from_yesterday_for_90_days(root: Pair) -> None:
    leaf = issue_leaf(root, WITHIN, NOW)
    asked = x509.IPAddress(HOME)
    days = {days: accepts(root, leaf, asked, NOW + timedelta(days=days)) for days in (-2, -0.9, 89.9, 90.1)}
    assert days == {-2: False, -0.9: True, 89.9: True, 90.1: False}


def test_a_leaf_never_outlives_its_authority(root: Pair) -> None:
    late = NOW + timedelta(days=3600)
    assert issue_leaf(root, WITHIN, late).certificate.not_valid_after_utc == NOW + timedelta(days=3653)


def test_what_the_certificates_are_good_for(root: Pair) -> None:
    leaf = issue_leaf(root, WITHIN, NOW).certificate
    uses = leaf.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(uses) == [ExtendedKeyUsageOID.SERVER_AUTH]
    limits = root.certificate.extensions.get_extension_for_class(x509.NameConstraints)
    basic = root.certificate.extensions.get_extension_for_class(x509.BasicConstraints)
    assert limits.critical
    root_uses = root.certificate.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(root_uses) == [ExtendedKeyUsageOID.SERVER_AUTH]
    assert (basic.critical, basic.value.ca, basic.value.path_length) == (True, True, 0)
    assert isinstance(root.key.curve, ec.SECP256R1)
    assert (limits_of(root.certificate), names_of(leaf)) == (LIMITS, WITHIN)


def test_an_authority_without_limits_of_both_kinds_is_not_made() -> None:
    for limits in (Limits((), ("localhost",)), Limits((IPv4Network("10.0.0.0/24"),), ())):
        with pytest.raises(ValueError, match="limits"):
            make_authority("Corner Frets", limits, NOW)


@given(shop=st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=200))
def test_any_shop_name_makes_an_authority(shop: str) -> None:
    made = make_authority(shop, LIMITS, NOW).certificate
    assert made.subject == made.issuer


def test_the_fingerprint_is_that_of_the_certificates_bytes(root: Pair) -> None:
    der = root.certificate.public_bytes(serialization.Encoding.DER)
    groups = fingerprint(root.certificate)
    assert "".join(groups).lower() == hashlib.sha256(der).hexdigest()
    assert {len(group) for group in groups} == {4}


def openssl_says(tmp_path: Path, root: Pair, leaf: Pair, *asked: str) -> tuple[bool, str]:
    (tmp_path / "root.pem").write_bytes(root.certificate_pem())
    (tmp_path / "leaf.pem").write_bytes(leaf.certificate_pem())
    when = str(int(NOW.timestamp()))
    command = ["openssl", "verify", "-x509_strict", "-purpose", "sslserver", "-attime", when, *asked]
    done = subprocess.run(
        [*command, "-CAfile", "root.pem", "leaf.pem"], cwd=tmp_path, capture_output=True, text=True
    )
    return done.returncode == 0, done.stdout + done.stderr


@openssl
def test_openssl_takes_the_shops_names(tmp_path: Path, root: Pair) -> None:
    leaf = issue_leaf(root, WITHIN, NOW)
    for asked in (("-verify_ip", str(HOME)), ("-verify_hostname", "bench.local")):
        good, said = openssl_says(tmp_path, root, leaf, *asked)
        assert good, said


@openssl
def test_openssl_refuses_names_beyond_the_limits(tmp_path: Path, root: Pair) -> None:
    for names in (Names((), ("example.org",)), Names((IPv4Address("203.0.113.7"),))):
        good, said = openssl_says(tmp_path, root, issue_leaf(root, names, NOW))
        assert not good
        assert "permitted subtree violation" in said


@openssl
def test_openssl_refuses_a_second_authority_below_the_first(tmp_path: Path, root: Pair) -> None:
    below = make_authority("Elsewhere", LIMITS, NOW)
    signed = Pair(reissued(below, root), below.key)
    leaf = issue_leaf(signed, WITHIN, NOW)
    (tmp_path / "below.pem").write_bytes(signed.certificate_pem())
    good, said = openssl_says(tmp_path, root, leaf, "-untrusted", "below.pem")
    assert not good
    assert "path length" in said


def reissued(below: Pair, above: Pair) -> x509.Certificate:
    """The certificate of `below`, signed by `above`."""
    old = below.certificate
    builder = x509.CertificateBuilder(
        above.certificate.subject,
        old.subject,
        old.public_key(),
        old.serial_number,
        old.not_valid_before_utc,
        old.not_valid_after_utc,
        list(old.extensions),
    )
    signer = x509.AuthorityKeyIdentifier.from_issuer_public_key(above.key.public_key())
    return builder.add_extension(signer, critical=False).sign(above.key, old.signature_hash_algorithm)


def for_mail(root: Pair, address: str, use: x509.ObjectIdentifier) -> Pair:
    """What somebody who stole the authority's key might sign: a certificate for a person's mail."""
    key = ec.generate_private_key(ec.SECP256R1())
    builder = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Somebody")]))
        .issuer_name(root.certificate.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(NOW - timedelta(days=1))
        .not_valid_after(NOW + timedelta(days=30))
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(root.key.public_key()), critical=False
        )
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.SubjectAlternativeName([x509.RFC822Name(address)]), critical=False)
        .add_extension(x509.ExtendedKeyUsage([use]), critical=False)
    )
    return Pair(builder.sign(root.key, hashes.SHA256()), key)


@openssl
@pytest.mark.parametrize(
    ("use", "purpose", "said"),
    [
        (ExtendedKeyUsageOID.EMAIL_PROTECTION, "smimesign", "certificate purpose|permitted subtree"),
        (ExtendedKeyUsageOID.CLIENT_AUTH, "sslclient", "certificate purpose|permitted subtree"),
        (ExtendedKeyUsageOID.SERVER_AUTH, "sslserver", "permitted subtree violation"),
    ],
)
def test_openssl_refuses_a_person_s_mail_address(
    tmp_path: Path, root: Pair, use: x509.ObjectIdentifier, purpose: str, said: str
) -> None:
    leaf = for_mail(root, "somebody@example.org", use)

    good, words = openssl_says(tmp_path, root, leaf, "-purpose", purpose)

    assert not good
    assert re.search(said, words)
