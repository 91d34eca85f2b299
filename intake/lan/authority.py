"""The shop's certificate authority on disk: made once, kept closed, and the server's certificate kept fresh.

`<data>/authority/` holds `root.pem`, `root-key.pem` and `server.pem` (certificate and key in one file, so
that they change together). The key is not encrypted: the server starts without anybody to type a password.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import load_pem_private_key

from intake.lan.certificates import Limits, Names, Pair, issue_leaf, limits_of, make_authority, names_of
from intake.lan.errors import AuthorityError
from intake.lan.private_files import private_folder, read_private, write_private

RENEW_WITHIN = timedelta(days=30)
ANEW = "Start once with --new-origin to make a new one; every phone then has to trust it again."


@dataclass(frozen=True)
class Authority:
    """The shop's authority, with its key, and the folder it lives in."""

    folder: Path
    root: Pair

    @property
    def server_file(self) -> Path:
        """PEM with the server's certificate and its key."""
        return self.folder / "server.pem"

    @property
    def limits(self) -> Limits:
        return limits_of(self.root.certificate)

    @property
    def ends(self) -> datetime:
        """When phones stop trusting it, in UTC."""
        return self.root.certificate.not_valid_after_utc

    def issue_if_needed(self, names: Names, now: datetime) -> bool:
        """Write a new server certificate where there is none for exactly these names with 30 days left.

        True if one was written. Raises AuthorityError for names beyond the authority's limits.
        """
        if not self.limits.allow(names):
            raise AuthorityError(f"The shop's certificate authority may not speak for all of {names}. {ANEW}")
        if self._serves(names, now):
            return False
        leaf = issue_leaf(self.root, names, now)
        write_private(self.server_file, leaf.certificate_pem() + leaf.key_pem())
        return True

    def _serves(self, names: Names, now: datetime) -> bool:
        try:
            leaf = x509.load_pem_x509_certificate(read_private(self.server_file))
            leaf.verify_directly_issued_by(self.root.certificate)
        except (FileNotFoundError, ValueError, InvalidSignature):
            return False
        end = leaf.not_valid_after_utc
        fresh = end - now >= RENEW_WITHIN or end == self.ends
        same = names_of(leaf) == names
        return same and fresh and leaf.not_valid_before_utc <= now < end


def authority_folder(data: Path) -> Path:
    return data / "authority"


def open_authority(data: Path, now: datetime) -> Authority | None:
    """The shop's authority, or None where it has none yet. Raises AuthorityError if it cannot be used."""
    folder = authority_folder(data)
    if not (folder / "root.pem").exists():
        return None
    private_folder(folder)
    root = _read_root(folder)
    if now >= root.certificate.not_valid_after_utc:
        day = root.certificate.not_valid_after_utc.date()
        raise AuthorityError(f"The shop's certificate authority ended on {day}. {ANEW}")
    return Authority(folder, root)


def new_authority(data: Path, shop: str, limits: Limits, now: datetime) -> Authority:
    """Make the shop's authority; one that was there, and its key, are deleted."""
    folder = authority_folder(data)
    private_folder(folder)
    for old in ("root.pem", "root-key.pem", "server.pem"):
        with suppress(FileNotFoundError):
            (folder / old).unlink()
    root = make_authority(shop, limits, now)
    # The certificate last: it is what says that there is an authority.
    write_private(folder / "root-key.pem", root.key_pem())
    write_private(folder / "root.pem", root.certificate_pem())
    return Authority(folder, root)


def _read_root(folder: Path) -> Pair:
    try:
        certificate = x509.load_pem_x509_certificate((folder / "root.pem").read_bytes())
        key = load_pem_private_key(read_private(folder / "root-key.pem"), None)
    except FileNotFoundError as error:
        raise AuthorityError(
            f"{error.filename} is missing. Take it from a copy of your own, if you made one. Or: {ANEW}"
        ) from error
    except (ValueError, TypeError) as error:
        raise AuthorityError(
            f"The files in {folder} cannot be read as certificate and key. {ANEW}"
        ) from error
    if not isinstance(key, ec.EllipticCurvePrivateKey) or key.public_key() != certificate.public_key():
        raise AuthorityError(f"root-key.pem and root.pem in {folder} do not belong together. {ANEW}")
    return Pair(certificate, key)
