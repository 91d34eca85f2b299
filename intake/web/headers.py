"""Security headers that every answer carries."""

from __future__ import annotations

from flask import Flask, Request, Response, request

from intake.web.csrf import refuse_other_sites
from intake.web.request_class import Sent, ShortNumber

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'; object-src 'none'"
)
MEDIA_POLICY = "default-src 'none'; sandbox"
INERT = frozenset({"text/css", "text/javascript", "font/woff2", "image/png"})
"""Static files that no browser shows as a page, so that no policy of theirs would ever be asked."""
HSTS = "max-age=31536000; includeSubDomains"
PROXIED = "werkzeug.proxy_fix.orig"
"""Set where a proxy that the shop named speaks https for us, under a public name. On the shop's own network
there is no such promise: the page that brings the certificate must stay reachable over http."""
LOOPBACK = frozenset({"localhost", "127.0.0.1", "[::1]"})


def protect(app: Flask) -> None:
    """Put the checks before every route and the headers on every answer."""
    app.request_class = Sent
    app.url_map.converters["int"] = ShortNumber
    app.before_request(refuse_other_sites)
    app.after_request(set_headers)


def set_headers(answer: Response) -> Response:
    headers = answer.headers
    headers["X-Content-Type-Options"] = "nosniff"
    if request.endpoint == "static" and answer.mimetype in INERT:
        return answer
    is_drawing = request.endpoint == "static" and answer.mimetype == "image/svg+xml"
    headers.setdefault("Content-Security-Policy", MEDIA_POLICY if is_drawing else POLICY)
    if request.is_secure and PROXIED in request.environ:
        headers["Strict-Transport-Security"] = HSTS
    headers["Referrer-Policy"] = "no-referrer" if _names_site(request) else "same-origin"
    if answer.mimetype == "text/html":
        answer.vary.add("HX-Request")
        headers.setdefault("Cache-Control", "no-store")
    return answer


def _names_site(asked: Request) -> bool:
    """True where browsers send Sec-Fetch-Site. Elsewhere no-referrer would make the Origin of a plain
    form "null", and the check would refuse our own pages; same-origin tells other sites no more."""
    return asked.is_secure or asked.host.rsplit(":", 1)[0] in LOOPBACK
