"""The body from the front, plain by family, with the numbered pins where something was found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from markupsafe import Markup

from intake.paper.drawings import svg
from intake.paper.formats import Formats

WIDTH = 200
HEIGHT = 260

# Half outlines in hundredths, from the heel down to the end: x is the distance from the centre line.
_GUITAR = ((0, 0), (20, 1), (33, 8), (35, 20), (30, 32), (26, 40), (30, 50), (41, 62),
           (46, 76), (42, 90), (28, 98), (0, 100))  # fmt: skip
_SOLID = ((0, 8), (16, 8), (26, 0), (34, 6), (32, 22), (28, 38), (33, 55), (41, 70), (40, 86),
          (28, 97), (0, 100))  # fmt: skip
_PEAR = ((0, 0), (10, 2), (18, 14), (27, 34), (37, 54), (43, 70), (39, 87), (24, 97), (0, 100))
_ROUND = ((0, 0), (19, 4), (35, 15), (45, 32), (48, 50), (45, 68), (35, 85), (19, 96), (0, 100))
OUTLINES = {"electric": _SOLID, "bass": _SOLID, "mandolin": _PEAR, "banjo": _ROUND}

# Where a pin without a place is drawn, in hundredths of the drawing.
PLACES = {
    "neck": (50, 6), "headstock": (50, 3), "side": (91, 68),
    "bridge": (50, 72), "top": (64, 60), "back": (36, 60),
}  # fmt: skip
BODY_TOP = 40
BODY_HEIGHT = 214


def outline(family: str) -> list[tuple[float, float]]:
    """The closed outline of a family's body in the drawing's own units."""
    half = _smooth(OUTLINES.get(family, _GUITAR))
    right = [(WIDTH / 2 + x * 1.9, BODY_TOP + y * BODY_HEIGHT / 100) for x, y in half]
    return [*right, *((WIDTH - x, y) for x, y in reversed(right))]


def place(pin: Mapping[str, Any]) -> tuple[float, float]:
    """Where a pin is drawn: its own x and y in hundredths of the drawing, else its part's usual place."""
    usual = PLACES.get(str(pin.get("part")), (50, 50))
    x, y = (float(pin[key]) if pin.get(key) is not None else usual[i] for i, key in enumerate(("x", "y")))
    return min(max(x, 3), 97) * WIDTH / 100, min(max(y, 3), 97) * HEIGHT / 100


def body_drawing(family: str, pins: Sequence[Mapping[str, Any]], formats: Formats) -> Markup:
    """The outline with its pins. Empty without pins."""
    if not pins:
        return Markup("")
    _ = formats.say
    neck = svg.rect(WIDTH / 2 - 11, 0, 22, BODY_TOP + 8, fill="#FFFFFF", stroke=svg.RULE)
    shape = svg.path(outline(family), closed=True, fill=svg.BONE, stroke=svg.INK, stroke_width=1.4)
    title = _("Where on the instrument the numbered places are")
    return svg.drawing(WIDTH, HEIGHT, title, [shape, neck, *_inside(family), *_pins(pins)])


def _inside(family: str) -> list[Markup]:
    centre, bridge = WIDTH / 2, BODY_TOP + BODY_HEIGHT * 0.72
    parts = [svg.rect(centre - 30, bridge, 60, 7, fill=svg.RULE)]
    if family in ("steel-string", "classical", "ukulele", "resonator"):
        hole = BODY_TOP + BODY_HEIGHT * 0.38
        parts.append(svg.element("circle", cx=centre, cy=hole, r=24, fill="#FFFFFF", stroke=svg.RULE))
    return parts


def _pins(pins: Sequence[Mapping[str, Any]]) -> list[Markup]:
    """Discs with their numbers; those that would cover each other are moved aside."""
    drawn: list[tuple[float, float]] = []
    marks: list[Markup] = []
    for index, pin in enumerate(pins, start=1):
        x, y = _clear(place(pin), drawn)
        drawn.append((x, y))
        number = str(pin.get("number", index))
        marks.append(svg.element("circle", cx=x, cy=y, r=9, fill=svg.INK, class_="pin"))
        marks.append(
            svg.label(x, y + 4, number, fill="#FFFFFF", font_weight=600, font_size=11, text_anchor="middle")
        )
    return marks


def _clear(at: tuple[float, float], drawn: list[tuple[float, float]]) -> tuple[float, float]:
    x, y = at
    while any(abs(x - other_x) < 16 and abs(y - other_y) < 16 for other_x, other_y in drawn):
        y += 19
        if y > HEIGHT - 9:
            x, y = (x + 19) % WIDTH, 20.0
    return x, y


def _smooth(points: Sequence[tuple[float, float]], rounds: int = 3) -> list[tuple[float, float]]:
    """Corner cutting (Chaikin 1974, from memory) with both ends kept."""
    line = [(float(x), float(y)) for x, y in points]
    for _ in range(rounds):
        cut = [line[0]]
        for (x1, y1), (x2, y2) in pairwise(line):
            cut += [
                (0.75 * x1 + 0.25 * x2, 0.75 * y1 + 0.25 * y2),
                (0.25 * x1 + 0.75 * x2, 0.25 * y1 + 0.75 * y2),
            ]
        line = [*cut, line[-1]]
    return line
