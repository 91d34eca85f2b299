"""The fretboard from above, and over each fret the crown that is left, against the limit."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from markupsafe import Markup

from intake.paper.drawings import svg
from intake.paper.formats import Formats

Facts = Mapping[str, Any]

WIDTH = 680
LEFT = 66
RIGHT = 672
FLOOR = 100
CHART = 74
BOARD_TOP = 112
BOARD_HEIGHT = 52
MARKED = (3, 5, 7, 9, 12, 15, 17, 19, 21)


def fret_places(scale: float, frets: int, left: float, right: float) -> list[float]:
    """x of the nut and of each fret, equal-tempered, the last one at `right`. `scale` cancels out."""
    reach = scale * (1 - 2 ** (-frets / 12))
    return [left + (right - left) * scale * (1 - 2 ** (-n / 12)) / reach for n in range(frets + 1)]


def crowns_from(facts: Facts) -> dict[int, Fraction]:
    """Crown left at each fret before levelling: the least-worn fret's height less the fret's own wear."""
    height, wear = facts.get("crown_height"), facts.get("fret_wear")
    if height is None or not isinstance(wear, Mapping):
        return {}
    frets = max(int(facts.get("fret_count") or 20), *wear, 1)
    return {n: height - wear.get(n, Fraction(0)) for n in range(1, frets + 1)}


def fretboard_drawing(facts: Facts, formats: Formats, metric: bool = False) -> Markup:
    """Bars of crown left, the limit, the level after dressing, buzzes and loose frets. Empty without wear."""
    crowns = crowns_from(facts)
    if not crowns:
        return Markup("")
    _ = formats.say
    places = fret_places(1, len(crowns), LEFT, RIGHT)
    per_inch = CHART / max(float(max(crowns.values())), 0.001)
    shapes = [
        *_board(places, facts),
        *_bars(crowns, places, per_inch, facts),
        *_worn_values(crowns, places, per_inch, facts, formats),
        *_levels(facts, formats, per_inch, metric),
        *_buzzes(facts, places),
    ]
    title = _("Crown height left at each fret, against the least that is needed")
    return svg.drawing(WIDTH, BOARD_TOP + BOARD_HEIGHT + 32, title, [*shapes, *_legend(facts, formats)])


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
    crowns: dict[int, Fraction], places: list[float], per_inch: float, facts: Facts, formats: Formats
) -> list[Markup]:
    """Thousandths over each worn fret, kept above the lines of the limit and the dressed level."""
    return [
        svg.label(
            places[n], FLOOR - max(float(crowns[n]), 0) * per_inch - 3,
            formats.number(crowns[n] * 1000, 0), font_size=9, text_anchor="middle", fill=svg.INK,
        )
        for n in facts["fret_wear"]
        if n in crowns
    ]  # fmt: skip


def _levels(facts: Facts, formats: Formats, per_inch: float, metric: bool) -> list[Markup]:
    _ = formats.say
    shown = []
    for id_, words, dash, colour in (
        ("crown_limit", _("least"), "5 2", svg.INK),
        ("crown_left", _("dressed"), "1 2", svg.FINE),
    ):
        value = facts.get(id_)
        if value is None:
            continue
        y = FLOOR - max(float(value), 0) * per_inch
        shown.append(
            svg.line(LEFT, y, RIGHT, y, stroke=colour, stroke_width=1.1, stroke_dasharray=dash, class_=id_)
        )
        shown.append((y, f"{words} {formats.thousandths(value, metric)}", colour))
    lines = [item for item in shown if isinstance(item, str)]
    words = sorted((item for item in shown if not isinstance(item, str)), key=lambda item: item[0])
    return [*lines, *_stacked(words)]


def _stacked(words: list[tuple[float, str, str]]) -> list[Markup]:
    """Two words left of the chart, pushed apart where their lines nearly meet; each breaks in two lines."""
    placed, free = [], 0.0
    for y, text, colour in words:
        at = max(y, free)
        first, _, second = text.partition(" ")
        placed.append(svg.label(0, at, first, font_size=10, fill=colour, font_weight=600))
        placed.append(svg.label(0, at + 10, second, font_size=10, fill=colour))
        free = at + 22
    return placed


def _buzzes(facts: Facts, places: list[float]) -> list[Markup]:
    """A cross where a string buzzes; string 1 is the treble, drawn at the top."""
    strings = int(facts.get("string_count") or 6)
    marks = []
    for pair in facts.get("buzz_at") or ():
        string, _, fret = str(pair).partition("/")
        if not (string.isdigit() and fret.isdigit() and int(fret) < len(places) and int(string) <= strings):
            continue
        n = int(fret)
        x = (places[n - 1] + places[n]) / 2 if n else places[0] + 8
        y = BOARD_TOP + BOARD_HEIGHT * (int(string) - 0.5) / strings
        marks += [
            svg.line(x - 4, y + d, x + 4, y - d, stroke=svg.WORK, stroke_width=2, class_="buzz")
            for d in (4, -4)
        ]
    marks += [
        svg.label(
            places[n], BOARD_TOP - 2, "~", font_size=14, font_weight=600, text_anchor="middle", fill=svg.INK
        )
        for n in facts.get("loose_frets") or ()
        if isinstance(n, int) and 0 < n < len(places)
    ]
    return marks


def _legend(facts: Facts, formats: Formats) -> list[Markup]:
    _ = formats.say
    words = [_("Bars: crown left, in thousandths of an inch where worn; dark bars are under the least.")]
    if facts.get("buzz_at") and facts["buzz_at"] != ("none",):
        words.append(_("× buzzes."))
    if facts.get("loose_frets"):
        words.append(_("~ loose fret."))
    return [svg.label(LEFT, BOARD_TOP + BOARD_HEIGHT + 28, " ".join(words), font_size=10)]
