"""Where on the instrument the numbered places are: the wizard's own views with the pins on them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from markupsafe import Markup

from intake.config import data_root
from intake.paper.drawings import svg
from intake.paper.formats import Formats

Pin = Mapping[str, Any]

WIDTH = 200
HEIGHT = 240
PLACES = 300
"""Tries to find room for a disc: more than one tour of the view."""
VIEWS = ("top", "back", "side", "neck")
# Where a pin without a place is drawn: its part's view, and x and y in hundredths of that view.
PARTS: Mapping[str, tuple[str, float, float]] = {
    "top": ("top", 64, 62), "bridge": ("top", 50, 76), "back": ("back", 50, 60), "side": ("side", 55, 30),
    "neck": ("neck", 50, 60), "headstock": ("neck", 50, 15),
}  # fmt: skip
UNKNOWN = ("top", 50.0, 50.0)
_SYMBOL = re.compile(r'<symbol id="([\w-]+)" viewBox="0 0 200 240">(.*?)</symbol>', re.DOTALL)


@dataclass(frozen=True)
class View:
    """One drawing and which side of the instrument it shows."""

    view: str
    drawing: Markup


@lru_cache
def bodies() -> Mapping[str, str]:
    """The insides of the symbols of `static/icons/bodies.svg`, by id: family and view."""
    return dict(_SYMBOL.findall((data_root() / "static" / "icons" / "bodies.svg").read_text("utf-8")))


def view_of(pin: Pin) -> str:
    """Which view a pin's part is seen in."""
    return PARTS.get(str(pin.get("part")), UNKNOWN)[0]


def place(pin: Pin) -> tuple[float, float]:
    """Where a pin is drawn: its own x and y in hundredths of the view, else its part's usual place."""
    _, usual_x, usual_y = PARTS.get(str(pin.get("part")), UNKNOWN)
    x = float(pin["x"]) if pin.get("x") is not None else usual_x
    y = float(pin["y"]) if pin.get("y") is not None else usual_y
    return min(max(x, 5), 95) * WIDTH / 100, min(max(y, 5), 95) * HEIGHT / 100


def body_drawings(family: str, pins: Sequence[Pin], formats: Formats) -> list[View]:
    """A drawing of each view that has pins, in the order of `VIEWS`. Each pin keeps its number.

    Nothing is drawn for a family that the program has no drawing of: never another instrument.
    """
    if f"{family}-top" not in bodies():
        return []
    numbered = [(str(pin.get("number", index)), pin) for index, pin in enumerate(pins, start=1)]
    views = []
    for view in VIEWS:
        here = [(number, pin) for number, pin in numbered if view_of(pin) == view]
        if here:
            views.append(View(view, _view(family, view, here, formats)))
    return views


def _view(family: str, view: str, pins: Sequence[tuple[str, Pin]], formats: Formats) -> Markup:
    _ = formats.gettext
    shape = bodies()[f"{family}-{view}"]
    numbers = ", ".join(number for number, _ in pins)
    title = _("The instrument, with the numbered places marked on it: {numbers}", numbers=numbers)
    return svg.drawing(WIDTH, HEIGHT, title, [Markup(shape), *_discs(pins)])


def _discs(pins: Sequence[tuple[str, Pin]]) -> list[Markup]:
    """Discs with their numbers; those that would cover each other are moved aside, until the view is full."""
    drawn: list[tuple[float, float]] = []
    marks: list[Markup] = []
    has_room = True
    for number, pin in pins:
        free = _clear(place(pin), drawn) if has_room else None
        has_room = free is not None
        x, y = free or place(pin)
        drawn.append((x, y))
        words: dict[str, Any] = {"fill": "#FFFFFF", "font_weight": 600, "text_anchor": "middle"}
        marks.append(
            svg.element(
                "circle", cx=x, cy=y, r=12, fill=svg.INK, stroke="#FFFFFF", stroke_width=2, class_="pin"
            )
        )
        marks.append(svg.label(x, y + 5, number, font_size=15, **words))
    return marks


def _clear(at: tuple[float, float], drawn: Sequence[tuple[float, float]]) -> tuple[float, float] | None:
    """The first place from there, down and column by column, that no disc covers; None in a full view."""
    x, y = at
    for _step in range(PLACES):
        if not any(abs(x - other_x) < 20 and abs(y - other_y) < 20 for other_x, other_y in drawn):
            return x, y
        y += 25
        if y > HEIGHT - 12:
            x, y = 12 + (x + 13) % (WIDTH - 24), 12.0
    return None
