"""The wizard's progress, drawn as a neck: a step lies between two frets at their equal-tempered places."""

from __future__ import annotations

from dataclasses import dataclass

NUT = 6
SCALE = 704
"""The string's length in units of the drawing: the twelfth fret lies at its right end."""


@dataclass(frozen=True)
class Field:
    """Where a step lies, in units of the drawing; `dash`: where the mark of one not assessed begins."""

    left: float
    middle: float
    dash: float
    right: float


def fields(steps: int) -> list[Field]:
    """The fields of that many steps, from the nut on."""
    return [_between(_fret(number), _fret(number + 1)) for number in range(steps)]


def _between(left: float, right: float) -> Field:
    middle = (left + right) / 2
    return Field(round(left, 1), round(middle, 1), round(middle - 4, 1), round(right, 1))


def _fret(number: int) -> float:
    return NUT + SCALE * (1 - 2 ** (-number / 12))
