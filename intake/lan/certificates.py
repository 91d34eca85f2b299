"""The shop's certificate authority and the server's certificate, as values: no files and no clock.

X.509 as in RFC 5280. The authority is good for nothing but the shop's own addresses: its name constraints
are critical (4.2.1.10), so a verifier refuses whatever it might sign for any other name, mail addresses among
them. It vouches for servers only (4.2.1.12) and can make no further authority (path length 0).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv4Address, IPv4Network

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

AUTHORITY_LIFE = timedelta(days=3653)
LEAF_LIFE = timedelta(days=90)
# A phone's clock may run behind the shop's computer.
CLOCKS_DIFFER = timedelta(days=1)
# A common name holds 64 (RFC 5280, ub-common-name), counted in bytes by some; the rest of ours takes 19.
NAME_BYTES = 45

NO_MAIL = "mail.invalid"
"""The one host whose mail addresses the authority may sign for, and which never exists (RFC 2606): without a
constraint of that kind it could sign for every address."""

KEY_USES = (
    "digital_signature",
    "content_commitment",
    "key_encipherment",
    "data_encipherment",
    "key_agreement",
    "key_cert_sign",
    "crl_sign",
    "encipher_only",
    "decipher_only",
)


@dataclass(frozen=True)
class Names:
    """What a certificate speaks for: IPv4 addresses and DNS names."""

    addresses: tuple[IPv4Address, ...]
    dns: tuple[str, ...] = ()

    def general(self) -> list[x509.GeneralName]:
        return [*map(x509.IPAddress, self.addresses), *map(x509.DNSName, self.dns)]


@dataclass(frozen=True)
class Limits:
    """What an authority may speak for at most: networks, and DNS names with all below them."""

    networks: tuple[IPv4Network, ...]
    dns: tuple[str, ...]

    def allow(self, names: Names) -> bool:
        """Whether every one of the names lies within."""
        addresses = all(any(one in net for net in self.networks) for one in names.addresses)
        return addresses and all(
            any(one == name or one.endswith(f".{name}") for name in self.dns) for one in names.dns
        )


@dataclass(frozen=True)
class Pair:
    """A certificate with its private key."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    def certificate_pem(self) -> bytes:
        return self.certificate.public_bytes(serialization.Encoding.PEM)

    def key_pem(self) -> bytes:
        return self.key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )


def make_authority(shop: str, limits: Limits, now: datetime) -> Pair:
    """A new root for that shop, ECDSA on P-256, ten years from `now`. Raises ValueError without limits."""
    if not (limits.networks and limits.dns):
        raise ValueError("an authority needs limits of both kinds, or a kind without one is open")
    key = ec.generate_private_key(ec.SECP256R1())
    label = f"{shop.encode()[:NAME_BYTES].decode(errors='ignore')} counter {now.date()}"
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, label)])
    permitted = [
        *map(x509.IPAddress, limits.networks),
        *map(x509.DNSName, limits.dns),
        x509.RFC822Name(NO_MAIL),
    ]
    builder = (
        _begin(name, name, key, now - CLOCKS_DIFFER, now + AUTHORITY_LIFE)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_key_usage("key_cert_sign", "crl_sign"), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
    )
    return Pair(builder.sign(key, hashes.SHA256()), key)


def issue_leaf(authority: Pair, names: Names, now: datetime) -> Pair:
    """A server's certificate for those names, 90 days from `now` or to the authority's end if sooner.

    It does not ask whether the authority may speak for them: verifiers do.
    """
    key = ec.generate_private_key(ec.SECP256R1())
    issuer = authority.certificate
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Shop counter")])
    end = min(now + LEAF_LIFE, issuer.not_valid_after_utc)
    signer = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority.key.public_key())
    builder = (
        _begin(subject, issuer.subject, key, now - CLOCKS_DIFFER, end)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_key_usage("digital_signature"), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(names.general()), critical=False)
        .add_extension(signer, critical=False)
    )
    return Pair(builder.sign(authority.key, hashes.SHA256()), key)


def limits_of(authority: x509.Certificate) -> Limits:
    """What that authority may speak for."""
    permitted = (
        authority.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees or []
    )
    networks = (name.value for name in permitted if isinstance(name, x509.IPAddress))
    return Limits(
        tuple(one for one in networks if isinstance(one, IPv4Network)),
        tuple(name.value for name in permitted if isinstance(name, x509.DNSName)),
    )


def names_of(leaf: x509.Certificate) -> Names:
    """What that certificate speaks for."""
    names = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    addresses = names.get_values_for_type(x509.IPAddress)
    return Names(
        tuple(one for one in addresses if isinstance(one, IPv4Address)),
        tuple(names.get_values_for_type(x509.DNSName)),
    )


def fingerprint(certificate: x509.Certificate) -> tuple[str, ...]:
    """SHA-256 of the certificate in sixteen groups of four hexadecimal digits, for reading aloud."""
    digits = certificate.fingerprint(hashes.SHA256()).hex().upper()
    return tuple(digits[at : at + 4] for at in range(0, len(digits), 4))


def _begin(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, start: datetime, end: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        .not_valid_after(end)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _key_usage(*uses: str) -> x509.KeyUsage:
    return x509.KeyUsage(**{use: use in uses for use in KEY_USES})
