"""How long a job waits, as a book writes it: `24 h`, `10 d`."""

from __future__ import annotations

import re
from datetime import timedelta
from fractions import Fraction

WAIT_KINDS = ("glue", "moisture", "finish", "settle")
MOST_WAIT = timedelta(days=3650)
_WAIT = re.compile(r"(?P<number>[0-9]{1,9}(?:\.[0-9]{1,9})?)\s*(?P<unit>h|d)")


def parse_wait(text: str) -> timedelta:
    """`24 h` or `10 d`; nothing and 0 are no wait. Raises ValueError."""
    clean = text.strip()
    if clean in ("", "0"):
        return timedelta()
    match = _WAIT.fullmatch(clean)
    if not match:
        raise ValueError(f"“{clean}” is not a wait; write it as 24 h or 10 d.")
    hours = Fraction(match["number"]) * (24 if match["unit"] == "d" else 1)
    if hours > MOST_WAIT / timedelta(hours=1):
        raise ValueError(f"“{clean}” is more than ten years.")
    return timedelta(seconds=int(hours * 3600))
