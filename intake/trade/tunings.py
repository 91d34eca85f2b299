"""Which pitch each string has. First string first, as a player counts them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from intake.trade.errors import TradeError
from intake.trade.named import named
from intake.trade.strings import pitch

SHIFT = {"standard": 0, "lowered": -1, "raised": 1}
"""Semitones where the book does not say; how far "lowered" goes is common practice, no source."""
TUNINGS = named("tuning", SHIFT)


def pitches(
    family: str,
    string_count: int,
    tuning: str,
    table: Sequence[Mapping[str, str]],
    semitones: int | None = None,
    shift: Mapping[str, int] = SHIFT,
) -> tuple[float, ...]:
    """Pitch of every string in hertz, `semitones` from standard where that is known, else by `shift`.

    TradeError where it cannot be known, as in an open tuning.

    `table`: the rows of tunings.csv (`family`, `string_count`, `tuned`).
    """
    tuned = {(row["family"], row["string_count"]): row["tuned"] for row in table}
    notes = tuned.get((family, str(string_count)))
    if notes is None or tuning not in SHIFT:
        raise TradeError("the pitches of these strings are not known")
    moved = shift[tuning] if semitones is None or tuning == "standard" else semitones
    return tuple(pitch(note, moved) for note in notes.split())
