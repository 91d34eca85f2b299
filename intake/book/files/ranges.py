"""ranges.csv: between what a figure of targets or defaults usually lies, family by family."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from intake.book.model import Range
from intake.book.problems import Problem, unknown
from intake.trade.units import MeasureError, parse_measure

RANGES = "ranges.csv"
RANGED = ("family", "figure", "least", "most")


def ranges_of(
    rows: Sequence[Mapping[str, str]],
    families: Collection[str],
    places: Mapping[tuple[str, str], int],
    problems: list[Problem],
) -> tuple[Range, ...]:
    """Every row, its ends in inches; a bare number is inches."""
    found: list[Range] = []
    for number, row in enumerate(rows):
        line = places.get((RANGES, str(number)))
        if row["family"] not in families:
            problems.append(Problem(RANGES, line, "family", unknown("family", row["family"], families)))
        try:
            ends = [parse_measure(row[key], "in") for key in ("least", "most")]
        except MeasureError as error:
            problems.append(Problem(RANGES, line, "least", str(error)))
            continue
        if ends[0] >= ends[1]:
            problems.append(Problem(RANGES, line, "least", "The least is not under the most."))
        found.append(Range(row["family"], row["figure"], ends[0], ends[1]))
    return tuple(found)
