"""The fretboard from above, and over each fret the crown that is left, against the limit."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from markupsafe import Markup

from intake.paper.drawings import svg
from intake.paper.formats import Formats
from intake.trade.errors import TradeError
from intake.trade.frets import crowns_left, fret_position

Facts = Mapping[str, Any]
Attributes = dict[str, Any]

WIDTH = 680
LEFT = 66
RIGHT = 672
FLOOR = 70
CHART = 54
BOARD_TOP = 84
BOARD_HEIGHT = 40
MARKED = (3, 5, 7, 9, 12, 15, 17, 19, 21)


def fret_places(frets: int, left: float, right: float) -> list[float]:
    """x of the nut and of each fret, equal-tempered, the last one at `right`."""
    unit = (right - left) / float(fret_position(1, frets))
    return [left + unit * float(fret_position(1, n)) for n in range(frets + 1)]


def crowns_from(facts: Facts) -> dict[int, Fraction]:
    """Crown left at each fret before levelling: the least-worn fret's height less the fret's own wear.

    Empty where that is not known, or nonsense.
    """
    height, wear = facts.get("crown_height"), facts.get("fret_wear")
    if height is None or not isinstance(wear, Mapping):
        return {}
    frets = max(int(facts.get("fret_count") or 20), *wear, 1)
    try:
        return {n: Fraction(left) for n, left in crowns_left(height, wear, range(1, frets + 1)).items()}
    except TradeError:
        return {}


def fretboard_drawing(facts: Facts, formats: Formats, metric: bool = False) -> Markup:
    """Bars of crown left, the limit, the level after dressing, buzzes and loose frets. Empty without wear."""
    crowns = crowns_from(facts)
    if not crowns:
        return Markup("")
    _ = formats.gettext
    places = fret_places(len(crowns), LEFT, RIGHT)
    highest = max(*crowns.values(), facts.get("crown_limit") or 0, Fraction(1, 1000))
    per_inch = CHART / float(highest)
    shapes = [
        *_board(places, facts),
        *_bars(crowns, places, per_inch, facts),
        *_worn_values(crowns, places, facts, formats, metric),
        *_levels(facts, formats, per_inch, metric),
        *_buzzes(facts, places),
    ]
    title = _("Crown height left at each fret, against the least that is needed")
    return svg.drawing(
        WIDTH, BOARD_TOP + BOARD_HEIGHT + 32, title, [*shapes, *_legend(facts, formats, metric)]
    )


def _board(places: list[float], facts: Facts) -> list[Markup]:
    strings = int(facts.get("string_count") or 6)
    rows = [BOARD_TOP + BOARD_HEIGHT * (i + 0.5) / strings for i in range(strings)]
    wood = svg.rect(LEFT, BOARD_TOP, RIGHT - LEFT, BOARD_HEIGHT, fill=svg.BONE, stroke=svg.RULE)
    frets = [
        svg.line(x, BOARD_TOP, x, BOARD_TOP + BOARD_HEIGHT,
                 stroke=svg.SOFT if n else svg.INK, stroke_width=1.4 if n else 4, class_="fret")
        for n, x in enumerate(places)
    ]  # fmt: skip
    wires = [svg.line(LEFT, y, RIGHT, y, stroke=svg.HAIR, stroke_width=0.7) for y in rows]
    numbers = [
        svg.label(places[n], BOARD_TOP + BOARD_HEIGHT + 12, str(n), font_size=10, text_anchor="middle")
        for n in range(1, len(places))
        if n in MARKED or n == 1
    ]
    return [wood, *wires, *frets, *numbers]


def _bars(crowns: dict[int, Fraction], places: list[float], per_inch: float, facts: Facts) -> list[Markup]:
    limit = facts.get("crown_limit")
    bars = []
    for n, crown in crowns.items():
        low = limit is not None and crown < limit
        height = max(float(crown), 0) * per_inch
        bars.append(
            svg.rect(
                places[n] - 4, FLOOR - height, 8, height, class_="crown",
                fill=svg.WORK if low else "#C9C3B4", stroke=svg.INK, stroke_width=0.8,
            )
        )  # fmt: skip
    return bars


def _worn_values(
    crowns: dict[int, Fraction], places: list[float], facts: Facts, formats: Formats, metric: bool
) -> list[Markup]:
    """Thousandths of an inch, or hundredths of a millimetre, under the bar of each worn fret."""
    small: Attributes = {"font_size": 9, "text_anchor": "middle", "fill": svg.INK}
    unit = Fraction(2540) if metric else Fraction(1000)
    worn = [n for n in facts["fret_wear"] if n in crowns]
    return [svg.label(places[n], FLOOR + 10, formats.number(crowns[n] * unit, 0), **small) for n in worn]


def _levels(facts: Facts, formats: Formats, per_inch: float, metric: bool) -> list[Markup]:
    """The least crown and the crown after levelling as lines across the chart, named at its left."""
    _ = formats.gettext
    lines, names = [], []
    for id_, words, dash, colour in (
        ("crown_limit", _("least"), "5 2", svg.INK),
        ("crown_left", _("after levelling"), "1 2", svg.FINE),
    ):
        value = facts.get(id_)
        if value is not None:
            y = FLOOR - max(float(value), 0) * per_inch
            stroke: Attributes = {"stroke": colour, "stroke_dasharray": dash, "class_": id_}
            lines.append(svg.line(LEFT, y, RIGHT, y, stroke_width=1.1, **stroke))
            names.append((y, words, formats.thousandths(value, metric), colour))
    return [*lines, *_stacked(sorted(names))]


def _stacked(names: list[tuple[float, str, str, str]]) -> list[Markup]:
    """Names in two lines each, pushed apart where their levels nearly meet."""
    placed, free = [], 0.0
    for y, words, value, colour in names:
        at = max(y, free)
        placed.append(svg.label(0, at, words, font_size=10, fill=colour, font_weight=600))
        placed.append(svg.label(0, at + 10, value, font_size=10, fill=colour))
        free = at + 22
    return placed


def _buzzes(facts: Facts, places: list[float]) -> list[Markup]:
    """A cross where a string buzzes; string 1 is the treble, drawn at the top."""
    strings = int(facts.get("string_count") or 6)
    cross: Attributes = {"stroke": svg.WORK, "stroke_width": 2, "class_": "buzz"}
    marks = []
    for pair in facts.get("buzz_at") or ():
        string, _, fret = str(pair).partition("/")
        if not (string.isdigit() and fret.isdigit() and int(fret) < len(places) and int(string) <= strings):
            continue
        n = int(fret)
        x = (places[n - 1] + places[n]) / 2 if n else places[0] + 8
        y = BOARD_TOP + BOARD_HEIGHT * (int(string) - 0.5) / strings
        marks += [svg.line(x - 4, y + d, x + 4, y - d, **cross) for d in (4, -4)]
    return [*marks, *_loose(facts, places)]


def _loose(facts: Facts, places: list[float]) -> list[Markup]:
    """A wave over each loose fret."""
    wave: Attributes = {"font_size": 14, "font_weight": 600, "text_anchor": "middle", "fill": svg.INK}
    return [
        svg.label(places[n], BOARD_TOP + BOARD_HEIGHT / 2 + 5, "~", **wave)
        for n in facts.get("loose_frets") or ()
        if isinstance(n, int) and 0 < n < len(places)
    ]


def _legend(facts: Facts, formats: Formats, metric: bool) -> list[Markup]:
    _ = formats.gettext
    words = [
        _("Bars: crown left, in hundredths of a millimetre where worn; dark bars are under the least.")
        if metric
        else _("Bars: crown left, in thousandths of an inch where worn; dark bars are under the least.")
    ]
    if facts.get("buzz_at") and facts["buzz_at"] != ("none",):
        words.append(_("× buzzes."))
    if facts.get("loose_frets"):
        words.append(_("~ loose fret."))
    return [svg.label(LEFT, BOARD_TOP + BOARD_HEIGHT + 28, " ".join(words), font_size=10)]
