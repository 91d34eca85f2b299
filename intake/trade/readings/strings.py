"""Readings of strings: tension, break angles, buzz, intonation.

`strings_table` holds the rows of strings.csv; a row may have `string_count` where a family has sets of
several sizes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from intake.trade import strings, tunings
from intake.trade.checked import Number
from intake.trade.errors import TradeError
from intake.trade.intonation import compensation_change as saddle_shift
from intake.trade.registry import reading

Rows = Sequence[Mapping[str, str]]
MERSENNE = "Mersenne's law; Fletcher and Rossing, The Physics of Musical Instruments, ch. 2"
STATICS = "elementary statics"


def strings_of(family: str | None, table: Rows | None) -> str:
    """What a family's strings are of, by families.csv: nylon, nickel (wound round steel), else bronze."""
    own = next((row for row in table or () if row["family"] == family), {})
    return own.get("strings") or "bronze"


def set_rows(table: Rows, family: str, gauge_set: str | None, count: int) -> list[Mapping[str, str]]:
    """The rows of one set in string order. TradeError unless there is one for each string."""
    rows = [
        row
        for row in table
        if row["family"] == family
        and row["gauge_set"] == gauge_set
        and row.get("string_count", "") in ("", None, str(count))
    ]
    rows.sort(key=lambda row: int(row["string"]))
    if len(rows) != count:
        raise TradeError("the book has no such set of strings")
    return rows


def weight_of_row(row: Mapping[str, str]) -> float:
    """Unit weight of a row of strings.csv, estimated from gauge and kind where it gives none."""
    if row.get("unit_weight"):
        return float(row["unit_weight"])
    return strings.estimated_unit_weight(Fraction(row["gauge"]), row.get("kind", ""))


def weight_of_gauge(
    gauge: Fraction,
    table: Rows,
    family: str,
    families: Rows | None = None,
    plain_up_to: Number = strings.THICKEST_PLAIN,
) -> float:
    """Unit weight of a string known by its gauge alone: the family's row of that gauge, else an estimate."""
    for row in table:
        if row["family"] == family and row.get("gauge") and Fraction(row["gauge"]) == gauge:
            return weight_of_row(row)
    made_of = strings_of(family, families)
    if made_of == "nylon":
        raise TradeError("the weight of this string is not known")
    wound = "wound_nickel" if made_of == "nickel" else "wound"
    return strings.estimated_unit_weight(gauge, "plain" if gauge <= plain_up_to else wound)


def weights_by_gauge(
    gauges: Sequence[Fraction],
    pitches: Sequence[float],
    table: Rows,
    family: str,
    families: Rows | None = None,
    plain_up_to: Number = strings.THICKEST_PLAIN,
) -> list[float]:
    """Unit weights in string order: the thinnest gauge belongs to the highest pitch."""
    if len(gauges) != len(pitches):
        raise TradeError("there is not one gauge for each string")
    highest_first = sorted(range(len(pitches)), key=lambda number: -pitches[number])
    weights = [0.0] * len(pitches)
    for number, gauge in zip(highest_first, sorted(gauges), strict=True):
        weights[number] = weight_of_gauge(gauge, table, family, families, plain_up_to)
    return weights


@reading("string_tension", unit="lbf", resolution="0.01", source=MERSENNE, low="1", high="100")
def string_tension(
    family: str,
    string_count: Fraction,
    tuning: str,
    scale_used: Fraction,
    strings_table: Rows,
    gauge_set: str | None = None,
    gauges: tuple[Fraction, ...] | None = None,
    tunings_table: Rows | None = None,
    families_table: Rows | None = None,
    tuning_semitones: Fraction | None = None,
    lowered_by: Fraction | None = None,
    raised_by: Fraction | None = None,
    plain_up_to: Fraction | None = None,
) -> tuple[float, ...]:
    """Tension of each string, first string first; from single gauges where known, else from the set.

    "Lowered" and "raised" are the book's semitones, else one, where nobody says how far; an open tuning is
    not computed.
    """
    semitones = None if tuning_semitones is None else int(tuning_semitones)
    own = {"lowered": lowered_by and -lowered_by, "raised": raised_by}
    shift = tunings.SHIFT | {name: int(by) for name, by in own.items() if by is not None}
    pitches = tunings.pitches(family, int(string_count), tuning, tunings_table or (), semitones, shift)
    if gauges:
        thickest = strings.THICKEST_PLAIN if plain_up_to is None else plain_up_to
        weights = weights_by_gauge(gauges, pitches, strings_table, family, families_table, thickest)
    else:
        weights = [weight_of_row(row) for row in set_rows(strings_table, family, gauge_set, len(pitches))]
    return tuple(
        strings.tension(weight, scale_used, pitch) for weight, pitch in zip(weights, pitches, strict=True)
    )


@reading("tension_total", unit="lbf", resolution="0.1", source=MERSENNE, low="10", high="500")
def tension_total(string_tension: tuple[Fraction, ...]) -> Fraction:
    """Tension of the whole set."""
    return sum(string_tension, Fraction(0))


@reading("tension_low", unit="lbf", resolution="0.01", source=MERSENNE, low="1", high="100")
def tension_low(string_tension: tuple[Fraction, ...]) -> Fraction:
    """Tension of the slackest string."""
    return min(string_tension)


@reading("break_angle_saddle", unit="deg", resolution="0.1", source="plane geometry", low="0", high="80")
def break_angle_saddle(saddle_showing: Fraction, saddle_to_pins: Fraction) -> float:
    """Bend of the string behind the saddle, to where it goes down; 0 where no saddle shows."""
    return strings.break_angle(saddle_showing, saddle_to_pins)


@reading("break_angle_after", unit="deg", resolution="0.1", source="plane geometry", low="0", high="80")
def break_angle_after(saddle_left: Fraction, saddle_to_pins: Fraction) -> float:
    """The same once the saddle is lowered for the wanted action; 0 where none would show."""
    return strings.break_angle(max(saddle_left, Fraction(0)), saddle_to_pins)


@reading("break_angle_nut", unit="deg", resolution="0.1", source="answer, else the book", low="0", high="30")
def break_angle_nut(
    head_angle: Fraction | None = None,
    default_head_angle: Fraction | None = None,
    nut_wraps_low: bool | None = None,
) -> Fraction | None:
    """Bend of the string at the nut: the head's angle, unless the strings leave the posts too high."""
    if nut_wraps_low is False:
        raise TradeError("the strings do not follow the head")
    return head_angle if head_angle is not None else default_head_angle


@reading("downforce_saddle", unit="lbf", resolution="0.1", source=STATICS, low="0", high="500")
def downforce_saddle(tension_total: Fraction, break_angle_saddle: Fraction) -> float:
    """Force of the whole set on the saddle: 2 T sin(φ/2)."""
    return strings.downforce(tension_total, break_angle_saddle)


@reading("downforce_nut", unit="lbf", resolution="0.1", source=STATICS, low="0", high="500")
def downforce_nut(tension_total: Fraction, break_angle_nut: Fraction) -> float:
    """Force of the whole set on the nut: 2 T sin(φ/2)."""
    return strings.downforce(tension_total, break_angle_nut)


@reading("compensation_change", unit="in", resolution="0.0001", source="derived", low="-1", high="1")
def compensation_change(intonation_cents: Fraction, scale_used: Fraction) -> float:
    """Where the saddle should move for the error at the 12th fret: positive away from the nut."""
    return saddle_shift(scale_used, intonation_cents)
