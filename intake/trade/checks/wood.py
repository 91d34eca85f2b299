"""Moisture and movement against the Wood Handbook."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import partial

from intake.trade import wood
from intake.trade.checks.model import DERIVED, Check

HANDBOOK = "Wood Handbook, FPL-GTR-190 (2010)"
SIMPSON = "Simpson, USDA FPL-RN-0268 (1998), Hailwood-Horrobin; evaluated apart from this code"

TABLE_4_2 = {
    30: "1.4 2.6 3.7 4.6 5.5 6.3 7.1 7.9 8.7 9.5 10.4 11.3 12.4 13.5 14.9 16.5 18.5 21.0 24.3",
    40: "1.4 2.6 3.7 4.6 5.5 6.3 7.1 7.9 8.7 9.5 10.4 11.3 12.3 13.5 14.9 16.5 18.5 21.0 24.3",
    50: "1.4 2.6 3.6 4.6 5.5 6.3 7.1 7.9 8.7 9.5 10.3 11.2 12.3 13.4 14.8 16.4 18.4 20.9 24.3",
    60: "1.3 2.5 3.6 4.6 5.4 6.2 7.0 7.8 8.6 9.4 10.2 11.1 12.1 13.3 14.6 16.2 18.2 20.7 24.1",
    70: "1.3 2.5 3.5 4.5 5.4 6.2 6.9 7.7 8.5 9.2 10.1 11.0 12.0 13.1 14.4 16.0 17.9 20.5 23.9",
    80: "1.3 2.4 3.5 4.4 5.3 6.1 6.8 7.6 8.3 9.1 9.9 10.8 11.7 12.9 14.2 15.7 17.7 20.2 23.6",
    90: "1.2 2.3 3.4 4.3 5.1 5.9 6.7 7.4 8.1 8.9 9.7 10.5 11.5 12.6 13.9 15.4 17.3 19.8 23.3",
    100: "1.2 2.3 3.3 4.2 5.0 5.8 6.5 7.2 7.9 8.7 9.5 10.3 11.2 12.3 13.6 15.1 17.0 19.5 22.9",
    110: "1.1 2.2 3.2 4.0 4.9 5.6 6.3 7.0 7.7 8.4 9.2 10.0 11.0 12.0 13.2 14.7 16.6 19.1 22.4",
    120: "1.1 2.1 3.0 3.9 4.7 5.4 6.1 6.8 7.5 8.2 8.9 9.7 10.6 11.7 12.9 14.4 16.2 18.6 22.0",
    140: "0.9 1.9 2.8 3.6 4.3 5.0 5.7 6.3 7.0 7.7 8.4 9.1 10.0 11.0 12.1 13.6 15.3 17.7 21.0",
    160: "0.8 1.6 2.4 3.2 3.9 4.6 5.2 5.8 6.4 7.1 7.8 8.5 9.3 10.3 11.4 12.7 14.4 16.7 19.9",
    200: "0.5 1.1 1.7 2.4 3.0 3.5 4.1 4.6 5.2 5.8 6.4 7.1 7.8 8.7 9.7 10.9 12.5 14.6 17.5",
}
"""Moisture in % at 5, 10 … 95 %RH by °F."""
RECOMPUTED = {
    "50 F": "4.60 5.48 6.31 7.10 7.88 8.66 9.47 10.33 11.25 12.27 13.43 16.39",
    "60 F": "4.56 5.44 6.25 7.04 7.81 8.58 9.38 10.22 11.13 12.14 13.29 16.22",
    "70 F": "4.49 5.36 6.17 6.94 7.70 8.46 9.25 10.07 10.97 11.96 13.09 16.00",
    "80 F": "4.41 5.27 6.06 6.82 7.57 8.31 9.08 9.90 10.78 11.75 12.86 15.73",
    "90 F": "4.30 5.15 5.93 6.68 7.41 8.14 8.89 9.69 10.55 11.51 12.60 15.43",
    "20 C": "4.51 5.38 6.19 6.96 7.72 8.49 9.27 10.10 11.00 12.00 13.13 16.04",
    "25 C": "4.43 5.29 6.10 6.86 7.61 8.36 9.13 9.95 10.83 11.81 12.93 15.81",
}
RECOMPUTED_RH = (20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80)
COEFFICIENTS = """
red alder|4.4 7.3|.00151 .00256
black ash|5.0 7.8|.00172 .00274
white ash|4.9 7.8|.00169 .00274
quaking aspen|3.5 6.7|.00119 .00234
basswood|6.6 9.3|.00230 .00330
American beech|5.5 11.9|.00190 .00431
butternut|3.4 6.4|.00116 .00223
black cherry|3.7 7.1|.00126 .00248
sassafras|4.0 6.2|.00137 .00216
sweetgum|5.3 10.2|.00183 .00365
sycamore|5.0 8.4|.00172 .00296
tanoak|4.9 11.7|.00169 .00423
black walnut|5.5 7.8|.00190 .00274
rock elm|4.8 8.1|.00165 .00285
American elm|4.2 9.5|.00144 .00338
"""
"""Wood, Table 4-3 shrinkage radial and tangential in %, Table 13-5 coefficients."""
FROM_MEMORY = """
Sitka spruce|4.3 7.5|.00148 .00263
sugar maple|4.8 9.9|.00165 .00353
bigleaf maple|3.7 7.1|.00126 .00248
white fir|3.3 7.0|.00112 .00245
"""
"""The same, of which one column or the other is from memory."""


def checks() -> list[Check]:
    return [*_moisture(), *_spots(), *_coefficients(), *_movement(), *_conditioning()]


def _furthest(cells: list[Check]) -> Check:
    """The cell with the largest deviation, for a table row that would be long to print."""
    return max(cells, key=lambda cell: abs(cell.deviation))


def _row(
    source: str,
    label: str,
    humidities: range | tuple[int, ...],
    row: str,
    ours: Callable[[int], float],
    tolerance: float,
) -> Check:
    cells = zip(humidities, row.split(), strict=True)
    return _furthest(
        [
            Check(
                source,
                f"moisture at {label}, {min(humidities)} to {max(humidities)} %RH, furthest off at {rh} %RH",
                float(cell),
                ours(rh),
                tolerance,
                "%",
            )
            for rh, cell in cells
        ]
    )


def _moisture() -> list[Check]:
    table = [
        _row(
            f"{HANDBOOK}, Table 4-2",
            f"{temperature} °F",
            range(5, 100, 5),
            row,
            partial(wood.moisture, temperature),
            0.1,
        )
        for temperature, row in TABLE_4_2.items()
    ]
    return table + [_recomputed(label, row) for label, row in RECOMPUTED.items()]


def _recomputed(label: str, row: str) -> Check:
    degrees, scale = label.split()
    formula = wood.moisture if scale == "F" else wood.moisture_at_celsius
    ours = partial(formula, int(degrees))
    return _row(SIMPSON, f"{degrees} °{scale}", RECOMPUTED_RH, row, ours, 0.0051)


def _spots() -> list[Check]:
    source = "a timber-drying authority's short table, whole percents"
    return [
        Check(source, f"moisture at 70 °F and {rh} %RH", expected, wood.moisture(70, rh), 0.5, "%")
        for rh, expected in ((30, 6), (50, 9), (65, 12), (80, 16))
    ]


def _coefficients() -> list[Check]:
    seen, remembered = f"{HANDBOOK}, Tables 4-3 and 13-5", f"{HANDBOOK}, Tables 4-3 and 13-5 (from memory)"
    return [
        Check(
            source,
            f"{name}, {direction} coefficient from shrinkage {shrinkage} %",
            float(expected),
            float(wood.movement_coefficient(Fraction(shrinkage))),
            0.0000101,
            "per %",
        )
        for source, table in ((seen, COEFFICIENTS), (remembered, FROM_MEMORY))
        for name, shrinkages, coefficients in (line.split("|") for line in table.strip().splitlines())
        for direction, shrinkage, expected in zip(
            ("radial", "tangential"), shrinkages.split(), coefficients.split(), strict=True
        )
    ]


def _movement() -> list[Check]:
    example = f"{HANDBOOK}, ch. 13, worked example (starting data from memory)"
    fir = Fraction("0.00245")
    spruce = wood.movement_coefficient(Fraction("4.3"))
    drop = (Fraction("8.46"), Fraction("5.36"))
    return [
        Check(
            example,
            "white fir, 232 mm flat-sawn, 8 to 11 %",
            1.7,
            float(wood.movement(232, fir, 8, 11)),
            0.05,
            "mm",
        ),
        Check(
            example,
            "the same, width afterwards",
            233.7,
            float(232 + wood.movement(232, fir, 8, 11)),
            0.05,
            "mm",
        ),
        Check(
            example,
            "white fir, 9.15 in flat-sawn, 8 to 11 %",
            0.067,
            float(wood.movement(Fraction("9.15"), fir, 8, 11)),
            0.0005,
            "in",
        ),
        Check(
            DERIVED,
            "quarter-sawn spruce top, 15 in, 45 to 25 %RH at 70 °F",
            -0.0688,
            float(wood.movement(15, spruce, *drop)),
            0.0001,
            "in",
        ),
        Check(
            DERIVED,
            "the same, flat-sawn",
            -0.122,
            float(wood.movement(15, Fraction("0.00263"), *drop)),
            0.001,
            "in",
        ),
        Check(
            DERIVED,
            "the same, 45 to 65 %RH, quarter-sawn",
            0.078,
            float(wood.movement(15, Fraction("0.00148"), Fraction("8.46"), Fraction("11.96"))),
            0.0005,
            "in",
        ),
        Check(
            DERIVED,
            "flat-sawn rosewood fingerboard, 2.25 in, 45 to 25 %RH",
            -0.014,
            float(wood.movement(Fraction("2.25"), Fraction("0.00201"), *drop)),
            0.0005,
            "in",
        ),
        Check(
            DERIVED,
            "flat-sawn ebony fingerboard, 2.25 in, 45 to 25 %RH",
            -0.027,
            float(wood.movement(Fraction("2.25"), Fraction("0.00388"), *drop)),
            0.0005,
            "in",
        ),
    ]


def _conditioning() -> list[Check]:
    return [
        Check(
            DERIVED,
            "water in 1.4 kg of wood at 8.5 % for each %",
            12.9,
            float(wood.water(1400, Fraction("8.5"), Fraction("9.5"))),
            0.05,
            "g",
        ),
    ]
