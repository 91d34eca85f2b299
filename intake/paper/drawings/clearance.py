"""The string that comes nearest to a fret: its line, its swing and the fret tops ahead of the finger."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from markupsafe import Markup

from intake.paper.drawings import svg
from intake.paper.formats import Formats
from intake.trade.buzz import Over
from intake.trade.named import named
from intake.trade.readings.clearance import strung_from

Facts = Mapping[str, Any]

BUZZES = named("complaints", ("buzz",))
WIDTH = 680
LEFT = 20
RIGHT = 660
TOP = 40
PLOT = 96
FRET = 7


def clearance_drawing(facts: Facts, formats: Formats, metric: bool = False) -> Markup:
    """The tightest string over the frets ahead of it. Empty unless a buzz is complained of and computed.

    `facts` hold what the readings took, the book's `families_table` too.
    """
    place = facts.get("buzz_margin_at")
    neck = strung_from(facts)
    if not BUZZES.intersection(facts.get("complaints") or ()) or not isinstance(place, str) or neck is None:
        return Markup("")
    over = neck.over(place)
    nearest = min(over, key=lambda each: each.gap - each.reach)
    title = formats.gettext("The string that comes nearest to a fret, and how far it swings there")
    shapes = [*_picture(over, nearest), *_words(place, nearest, formats, metric)]
    return svg.drawing(WIDTH, TOP + PLOT + 56, title, shapes)


def _picture(over: list[Over], nearest: Over) -> list[Markup]:
    first, last = over[0].x, over[-1].x
    heights = [each.top + each.gap for each in over] + [each.top for each in over]
    low, span = min(heights), max(max(heights) - min(heights), 0.001)

    def at(x: float, height: float) -> tuple[float, float]:
        share = (x - first) / max(last - first, 0.001)
        return LEFT + 12 + (RIGHT - LEFT - 24) * share, TOP + PLOT * (1 - (height - low) / span)

    shapes = []
    for each in over:
        x, y = at(each.x, each.top)
        colour = svg.WORK if each is nearest else "#C9C3B4"
        shapes.append(
            svg.rect(x - FRET / 2, y, FRET, TOP + PLOT + 14 - y, fill=colour, stroke=svg.INK, class_="fret")
        )
        shapes.append(svg.label(x, TOP + PLOT + 26, str(each.fret), font_size=9, text_anchor="middle"))
    string = [at(each.x, each.top + each.gap) for each in over]
    swing = [at(each.x, each.top + each.gap - each.reach) for each in over]
    shapes.append(svg.path(string, fill="none", stroke=svg.INK, stroke_width=1.4, class_="string"))
    shapes.append(
        svg.path(swing, fill="none", stroke=svg.INK, stroke_width=1, stroke_dasharray="4 3", class_="swing")
    )
    return shapes


def _words(place: str, nearest: Over, formats: Formats, metric: bool) -> list[Markup]:
    _ = formats.gettext

    def size(inches: float) -> str:
        return formats.thousandths(Fraction(round(inches * 10**5), 10**5), metric)

    string, _slash, fret = place.partition("/")
    held = _("open") if fret == "0" else _("held at fret {fret}", fret=fret)
    gap = _(
        "String {string}, {held}, comes nearest over fret {over}: {gap} clear.",
        string=string, held=held, over=nearest.fret, gap=size(nearest.gap),
    )  # fmt: skip
    left = nearest.gap - nearest.reach
    reach, margin = size(nearest.reach), size(abs(left))
    swing = (
        _("This attack is taken to swing it {reach} there (dashed), which leaves {margin}.",
          reach=reach, margin=margin)
        if left >= 0
        else _("This attack is taken to swing it {reach} there (dashed), {margin} more than there is.",
               reach=reach, margin=margin)
    )  # fmt: skip
    care = _("Heights are much enlarged. The swing is a guess by attack: this explains, it promises nothing.")
    return [
        svg.label(LEFT, 12, gap, font_size=10.5),
        svg.label(LEFT, 26, swing, font_size=10.5),
        svg.label(LEFT, TOP + PLOT + 46, care, font_size=10),
    ]
