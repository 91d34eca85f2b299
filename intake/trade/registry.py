"""Readings: numbers computed from answers, registered by name so that a table may use them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True)
class Reading:
    """A computed number; `buzz_margin_at` alone is a place ("string/fret")."""

    id: str
    value: Fraction | str
    unit: str
