"""Whole numbers as a form or an address has them."""

from __future__ import annotations

MOST_DIGITS = 15
"""As many as the store can look up (63 bits)."""


def whole_number(text: str | None) -> int | None:
    """The number, of digits alone; None for anything else."""
    typed = (text or "").strip()
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) <= MOST_DIGITS else None
