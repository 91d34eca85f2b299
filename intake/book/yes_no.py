"""A yes or a no, as people and files write it."""

from __future__ import annotations

from typing import Any


def yes_no_word(value: Any) -> str:
    """A truth value as forms and `when` write it; anything else as it stands."""
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)
