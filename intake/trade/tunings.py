"""Which pitch each string has. First string first, as a player counts them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from intake.trade.errors import TradeError
from intake.trade.named import named
from intake.trade.strings import pitch

SIX = "E4 B3 G3 D3 A2 E2"
STANDARD: dict[tuple[str, int], str] = {
    ("steel-string", 6): SIX,
    ("steel-string", 12): "E4 E4 B3 B3 G4 G3 D4 D3 A3 A2 E3 E2",
    ("classical", 6): SIX,
    ("archtop", 6): SIX,
    ("archtop", 7): SIX + " A1",
    ("resonator", 6): SIX,
    ("electric", 6): SIX,
    ("electric", 7): SIX + " B1",
    ("electric", 12): "E4 E4 B3 B3 G4 G3 D4 D3 A3 A2 E3 E2",
    ("bass", 4): "G2 D2 A1 E1",
    ("bass", 5): "G2 D2 A1 E1 B0",
    ("bass", 6): "C3 G2 D2 A1 E1 B0",
    ("mandolin", 8): "E5 E5 A4 A4 D4 D4 G3 G3",
    ("ukulele", 4): "A4 E4 C4 G4",
    ("banjo", 4): "A4 D4 G3 C3",
    ("banjo", 5): "D4 B3 G3 D3 G4",
}
"""Standard pitches; common practice, no source."""
SHIFT = {"standard": 0, "lowered": -1, "raised": 1}
"""Semitones; how far "lowered" goes is a guess, common practice, no source."""
TUNINGS = named("tuning", SHIFT)
USUAL_TENSION = {
    "steel-string": 26.7, "classical": 15.0, "archtop": 26.7, "resonator": 26.7, "electric": 17.3,
    "bass": 41.0, "mandolin": 22.5, "ukulele": 9.4, "banjo": 13.0,
}  # fmt: skip
"""Tension of one string of a usual set, lbf; from memory."""


def pitches(
    family: str,
    string_count: int,
    tuning: str,
    table: Sequence[Mapping[str, str]] = (),
    semitones: int | None = None,
) -> tuple[float, ...]:
    """Pitch of every string in hertz, `semitones` from standard where that is known.

    TradeError where it cannot be known, as in an open tuning.

    `table`: the rows of tunings.csv (`family`, `string_count`, `tuned`), which count before the usual ones.
    """
    own = {(row["family"], row["string_count"]): row["tuned"] for row in table}
    notes = own.get((family, str(string_count))) or STANDARD.get((family, string_count))
    if notes is None or tuning not in SHIFT:
        raise TradeError("the pitches of these strings are not known")
    shift = SHIFT[tuning] if semitones is None or tuning == "standard" else semitones
    return tuple(pitch(note, shift) for note in notes.split())
