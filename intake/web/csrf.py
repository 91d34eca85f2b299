"""The refusal of requests that another site makes (cross-site request forgery), by headers.

There is no token in the forms: a token grows old, and would strand what a phone could not send for a
night. Browsers say where a request comes from (Sec-Fetch-Site), over plain http at least its Origin;
one that says neither is no browser, and so carries nobody's rights by accident.
"""

from __future__ import annotations

from flask import Request, abort, request

from intake.i18n import _

SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


def refuse_other_sites() -> None:
    if request.method not in SAFE and not is_our_own(request):
        abort(
            403,
            _("This request came from another site, so nothing was changed. Open the page here and retry."),
        )


def is_our_own(asked: Request) -> bool:
    """False if a browser says that another site made the request."""
    site = asked.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site in ("same-origin", "none")
    origin = asked.headers.get("Origin")
    return origin is None or origin == asked.host_url.rstrip("/")
