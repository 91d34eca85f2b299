"""The shop's root certificate in the forms that phones take."""

from __future__ import annotations

import plistlib
from dataclasses import dataclass
from uuid import NAMESPACE_OID, UUID, uuid5

from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.x509.oid import NameOID

from intake.lan.certificates import fingerprint, limits_of


@dataclass(frozen=True)
class Download:
    """A file for a phone: what it holds, its content type and its name."""

    content: bytes
    content_type: str
    filename: str


@dataclass(frozen=True)
class Trust:
    """What a phone that comes for the first time is to trust, and the plain address where it gets it."""

    root: x509.Certificate
    address: str

    @property
    def fingerprint(self) -> tuple[str, ...]:
        """SHA-256, in groups of four."""
        return fingerprint(self.root)

    @property
    def speaks_for(self) -> tuple[str, ...]:
        """The networks and names beyond which nobody has to believe it, as people write them."""
        limits = limits_of(self.root)
        return (*map(str, limits.networks), *limits.dns)

    def downloads(self, shop: str) -> dict[str, Download]:
        """By file name, in each form that phones and computers take."""
        made = (root_der(self.root), root_pem(self.root), ios_profile(self.root, shop))
        return {one.filename: one for one in made}


def root_der(root: x509.Certificate) -> Download:
    """The root for Android, Windows and macOS, which offer to install this content type (from memory)."""
    der = root.public_bytes(serialization.Encoding.DER)
    return Download(der, "application/x-x509-ca-cert", "counter-root.crt")


def root_pem(root: x509.Certificate) -> Download:
    """The root as text, for Linux and for browsers with a store of their own."""
    pem = root.public_bytes(serialization.Encoding.PEM)
    return Download(pem, "application/x-pem-file", "counter-root.pem")


def ios_profile(root: x509.Certificate, shop: str) -> Download:
    """An unsigned configuration profile that installs the root on iPhone and iPad.

    Keys of Apple's "Configuration Profile Reference" (payload com.apple.security.root), from memory. The
    identifiers come from the certificate, so that the same root installed again replaces itself. The phone's
    owner still has to trust it in Settings.
    """
    payload = {
        "PayloadType": "com.apple.security.root",
        "PayloadVersion": 1,
        "PayloadIdentifier": f"tallyfret.root.{_identity(root, 'root')}",
        "PayloadUUID": _identity(root, "root"),
        "PayloadDisplayName": _common_name(root),
        "PayloadCertificateFileName": "counter-root.crt",
        "PayloadContent": root.public_bytes(serialization.Encoding.DER),
    }
    profile = {
        "PayloadType": "Configuration",
        "PayloadVersion": 1,
        "PayloadIdentifier": f"tallyfret.profile.{_identity(root, 'profile')}",
        "PayloadUUID": _identity(root, "profile"),
        "PayloadDisplayName": f"{shop}: counter",
        "PayloadDescription": "Lets this phone reach the shop's own computer, and nothing else, over https.",
        "PayloadOrganization": shop,
        "PayloadRemovalDisallowed": False,
        "PayloadContent": [payload],
    }
    return Download(plistlib.dumps(profile), "application/x-apple-aspen-config", "counter.mobileconfig")


def _identity(root: x509.Certificate, what: str) -> str:
    made: UUID = uuid5(NAMESPACE_OID, f"{what} {''.join(fingerprint(root))}")
    return str(made).upper()


def _common_name(root: x509.Certificate) -> str:
    return str(root.subject.get_attributes_for_oid(NameOID.COMMON_NAME)[0].value)
