"""QR codes, for the terminal and for pages."""

from __future__ import annotations

import io

import segno


def terminal_qr(text: str) -> str:
    """The code in half blocks, with its quiet zone, for light on dark; a light terminal shows it inverted."""
    out = io.StringIO()
    segno.make(text, micro=False).terminal(out, compact=True)
    return out.getvalue()


def svg_qr(text: str, title: str) -> str:
    """The code as an SVG element to stand in a page, without style or script; the page gives it its size.

    Black on white whatever the page's colours, with the quiet zone of four modules (ISO/IEC 18004).
    """
    return segno.make(text, micro=False).svg_inline(
        border=4, omitsize=True, svgclass="qr", lineclass=None, dark="#000", light="#fff", title=title
    )
