"""Ids of tickets, as phones make them too: UUID version 7 (RFC 9562, section 5.7)."""

from __future__ import annotations

import secrets
from datetime import datetime
from uuid import UUID


def uuid7(now: datetime) -> UUID:
    """48 bits of milliseconds since 1970, then random bits around version and variant."""
    milliseconds = int(now.timestamp() * 1000)
    number = (milliseconds & (1 << 48) - 1) << 80 | secrets.randbits(80)
    number = number & ~(0xF << 76) | 7 << 76
    return UUID(int=number & ~(0b11 << 62) | 0b10 << 62)
