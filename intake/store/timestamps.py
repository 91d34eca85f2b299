"""How the store writes a moment."""

from __future__ import annotations

from datetime import UTC, datetime


def stamp(moment: datetime) -> str:
    """ISO 8601 in UTC to the millisecond: text order is time order. Raises ValueError without a zone."""
    if moment.tzinfo is None:
        raise ValueError("a moment needs its time zone")
    return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
