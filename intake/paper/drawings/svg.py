"""The few SVG elements the drawings need. Presentation attributes only: a strict CSP allows them."""

from __future__ import annotations

from collections.abc import Iterable

from markupsafe import Markup, escape

INK = "#1E1B18"
SOFT = "#5C554C"
RULE = "#8D867A"
HAIR = "#DAD5C8"
BONE = "#F3F1EA"
WOOD = "#E9DFC6"
WORK = "#8C2F27"
FINE = "#1F6458"

Number = float | int


def element(name: str, *children: str, **attributes: str | Number) -> Markup:
    """An element with escaped attributes; `stroke_width` becomes `stroke-width`, `class_` `class`."""
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(_short(value))}"' for key, value in attributes.items()
    )
    inside = Markup("").join(children)
    return Markup(f"<{name}{written}>{inside}</{name}>") if inside else Markup(f"<{name}{written}/>")


def drawing(width: Number, height: Number, title: str, children: Iterable[str]) -> Markup:
    """A whole SVG, as wide as its container, with its title for those who cannot see it."""
    return element(
        "svg", element("title", escape(title)), *children,
        xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {_short(width)} {_short(height)}",
        width="100%", role="img",
    )  # fmt: skip


def line(x1: Number, y1: Number, x2: Number, y2: Number, **attributes: str | Number) -> Markup:
    """A straight stroke; ink of 1 unless told otherwise."""
    return element("line", x1=x1, y1=y1, x2=x2, y2=y2, **{"stroke": INK, **attributes})


def rect(x: Number, y: Number, width: Number, height: Number, **attributes: str | Number) -> Markup:
    """An upright rectangle from its top left corner."""
    return element("rect", x=x, y=y, width=width, height=height, **attributes)


def path(points: Iterable[tuple[Number, Number]], closed: bool = False, **attributes: str | Number) -> Markup:
    """A stroke or area through points."""
    d = "M" + " L".join(f"{_short(x)} {_short(y)}" for x, y in points) + (" Z" if closed else "")
    return element("path", d=d, **attributes)


def label(x: Number, y: Number, words: str, **attributes: str | Number) -> Markup:
    """A line of text, 12 units high in Barlow unless told otherwise."""
    usual: dict[str, str | Number] = {"font_size": 12, "font_family": "Barlow", "fill": SOFT}
    return element("text", escape(words), **{"x": x, "y": y, **usual, **attributes})


def _short(value: str | Number) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)
