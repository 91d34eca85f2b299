"""QR codes (ISO/IEC 18004) with their quiet zone of four modules, for pages, paper and the terminal."""

from __future__ import annotations

import io

import segno
from markupsafe import Markup


def qr_svg(text: str, title: str) -> Markup:
    """The code as an SVG element to stand in a page or a paper; that gives it its size.

    Black; the page lays white under it. Its namespace stands in words: paper is read as XML, which would draw
    nothing without.
    """
    written = io.BytesIO()
    segno.make(text, micro=False, error="m").save(
        written, kind="svg", xmldecl=False, svgns=True, nl=False, omitsize=True, border=4, title=title,
        svgclass="qr",
    )  # fmt: skip
    return Markup(written.getvalue().decode())


def qr_terminal(text: str) -> str:
    """The code in half blocks, for light on dark; a light terminal shows it inverted."""
    out = io.StringIO()
    segno.make(text, micro=False, error="m").terminal(out, compact=True)
    return out.getvalue()
