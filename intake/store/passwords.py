"""PINs and passwords as Argon2id (RFC 9106), with the library's own parameters."""

from __future__ import annotations

import secrets
import unicodedata
from functools import lru_cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

HASHER = PasswordHasher()
LEAST, ADVISED, LONGEST = 8, 15, 1000
"""Letters of a password: the fewest taken, the fewest advised, the most."""


def hashed(secret: str) -> str:
    """The hash to keep, with its salt and parameters."""
    return HASHER.hash(_plain(secret))


def matches(kept: str, secret: str) -> bool:
    """Whether the secret is the one that was hashed.

    Where nothing was (`kept` is empty: nobody has that name) the answer is no, and takes as long.
    """
    nobody = _nobody()
    try:
        HASHER.verify(kept or nobody, _plain(secret))
    except (VerificationError, InvalidHashError):
        return False
    return bool(kept)


@lru_cache(maxsize=1)
def _nobody() -> str:
    return HASHER.hash(secrets.token_hex())


def _plain(secret: str) -> str:
    """One form for letters that keyboards compose differently."""
    return unicodedata.normalize("NFKC", secret)


def is_pin(text: str) -> bool:
    """Four to six digits."""
    return text.isascii() and text.isdigit() and 4 <= len(text) <= 6
