"""What this player's instrument should measure: the script marks what is typed beside it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from intake.services.estimates import Estimate

WANTED = {
    "relief": ("relief_low", "relief_high"),
    "action_bass_12": ("action_bass_low", "action_bass_high"),
    "action_treble_12": ("action_treble_low", "action_treble_high"),
    "nut_bass_1": ("nut_bass_low", "nut_bass_high"),
    "nut_treble_1": ("nut_treble_low", "nut_treble_high"),
    "saddle_showing": ("saddle_least", ""),
    "crown_height": ("crown_limit", ""),
}
"""Question → the facts that hold its lowest and its highest good value."""
NO_LIMIT = "99"
Facts = Mapping[str, Any]


def targets(estimate: Estimate | None) -> Iterator[tuple[str, str, str]]:
    """Question, lowest and highest good value in inches, of those that the book has a target for."""
    facts: Facts = estimate.quote.assessment.facts if estimate else {}
    for question, (low, high) in WANTED.items():
        if low in facts:
            yield question, _inches(facts, low), _inches(facts, high) if high in facts else NO_LIMIT


def _inches(facts: Facts, name: str) -> str:
    return f"{float(facts[name]):.5f}"
