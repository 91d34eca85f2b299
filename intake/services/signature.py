"""A signature drawn with a finger: strokes of points, kept as numbers and shown as vectors."""

from __future__ import annotations

import re

from markupsafe import Markup

WIDTH, HEIGHT = 600, 200
LONGEST = 20_000
STROKES = re.compile(r"(?:\d{1,3},\d{1,3}(?: \d{1,3},\d{1,3})*)(?:;\d{1,3},\d{1,3}(?: \d{1,3},\d{1,3})*)*")
FEWEST = 5
"""A dot that a thumb left while scrolling is no signature."""


def read(written: str) -> str:
    """The strokes as sent, `x,y x,y;x,y …` in a field of 600 by 200; empty for anything else."""
    text = written.strip()
    if len(text) > LONGEST or not STROKES.fullmatch(text) or text.count(",") < FEWEST:
        return ""
    return text


def drawing(strokes: str, title: str) -> Markup:
    """The signature as inline SVG."""
    lines = Markup("").join(
        Markup('<polyline points="{}"/>').format(stroke) for stroke in read(strokes).split(";") if stroke
    )
    return Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {} {}" width="100%" role="img" fill="none"'
        ' stroke="#1E1B18" stroke-width="3" stroke-linecap="round" stroke-linejoin="round">'
        "<title>{}</title>{}</svg>"
    ).format(WIDTH, HEIGHT, title, lines)
