"""One row of the comparison with the world."""

from __future__ import annotations

from dataclasses import dataclass

DERIVED = "derived, computed apart; no outside source"
GEOMETRY = "plane geometry"


@dataclass(frozen=True)
class Check:
    """`ours` may differ from `expected` by `tolerance`, all three in `unit`."""

    source: str
    what: str
    expected: float
    ours: float
    tolerance: float
    unit: str

    @property
    def deviation(self) -> float:
        """Ours less theirs."""
        return self.ours - self.expected

    @property
    def holds(self) -> bool:
        return abs(self.deviation) <= self.tolerance
