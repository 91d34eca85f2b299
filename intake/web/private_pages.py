"""Pages in the reader's language that nobody keeps, lists or passes on the address of."""

from __future__ import annotations

from typing import Any

from flask import Response, url_for

from intake.i18n.templates import environment
from intake.web.redirects import see_address


def render(template: str, language: str, **context: Any) -> str:
    """One of our templates in that language."""
    return environment(language).get_template(template).render(language=language, url_for=url_for, **context)


def answer(page: str, status: int = 200) -> Response:
    """A page that nobody keeps, lists or passes on the address of."""
    return private(Response(page, status))


def see_other(address: str) -> Response:
    """To one of our own pages, by GET."""
    return private(see_address(address))


def private(made: Response) -> Response:
    """The answer, marked as nobody's to keep, list or pass on the address of."""
    made.headers["Cache-Control"] = "no-store, private"
    made.headers["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    made.headers["Referrer-Policy"] = "no-referrer"
    return made
