"""Random tokens: given out once, kept only as their hash."""

from __future__ import annotations

import base64
import hashlib
import secrets

TOKEN_BYTES = 24
CODE_BYTES = 16


def new_token() -> str:
    """192 random bits, base64url: for cookies, where nobody has to type it."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def new_code() -> str:
    """128 random bits in base32 (RFC 4648), lower case: 26 letters and digits that can be typed in need."""
    return base64.b32encode(secrets.token_bytes(CODE_BYTES)).decode().rstrip("=").lower()


def digest(token: str) -> str:
    """SHA-256 of the token: with this many random bits, no slower hash is needed."""
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()
