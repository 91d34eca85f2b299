"""Headers that every answer carries, and the refusal of requests that another site makes.

There is no token in the forms: a token grows old, and would strand what a phone could not send for a
night. Browsers say where a request comes from (Sec-Fetch-Site), over plain http at least its Origin;
one that says neither is no browser, and so carries nobody's rights by accident.
"""

from __future__ import annotations

from flask import Flask, Request, Response, abort, current_app, request
from werkzeug.routing import IntegerConverter

from intake.counter.words import _

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'; object-src 'none'"
)
MEDIA_POLICY = "default-src 'none'; sandbox"
INERT = frozenset({"text/css", "text/javascript", "font/woff2", "image/png"})
"""Static files that no browser shows as a page, so that no policy of theirs would ever be asked."""
TAKES_FILES = frozenset({"counter.add_photo", "counter.save_all", "counter.save_new", "owner.bring_in"})
"""Whatever else comes in is text: it may weigh MAX_FORM_MEMORY_SIZE, these MAX_CONTENT_LENGTH."""
HSTS = "max-age=31536000; includeSubDomains"
PROXIED = "werkzeug.proxy_fix.orig"
"""Set where a proxy that the shop named speaks https for us, under a public name. On the shop's own network
there is no such promise: the page that brings the certificate must stay reachable over http."""
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
LOOPBACK = frozenset({"localhost", "127.0.0.1", "[::1]"})


class ShortNumber(IntegerConverter):
    """A number in an address that the store can look up, (63 bits); a longer one finds nothing."""

    regex = r"[0-9]{1,15}"


class Sent(Request):
    """A request as the routes may read it: parts of a multipart body that have no name, which no page of ours
    sends and Werkzeug calls None, are left out."""

    def _load_form_data(self) -> None:
        super()._load_form_data()
        for kind in ("form", "files"):
            held = self.__dict__[kind]
            if None in held:
                named = [pair for pair in held.items(multi=True) if pair[0] is not None]
                self.__dict__[kind] = type(held)(named)


def protect(app: Flask) -> None:
    """Put the checks before every route and the headers on every answer."""
    app.request_class = Sent
    app.url_map.converters["int"] = ShortNumber
    app.before_request(limit_text)
    app.before_request(refuse_other_sites)
    app.after_request(set_headers)


def limit_text() -> None:
    """Only photos weigh more than text may; a form without files is read whole into memory."""
    if request.endpoint not in TAKES_FILES or request.mimetype != "multipart/form-data":
        request.max_content_length = current_app.config["MAX_FORM_MEMORY_SIZE"]


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


def set_headers(answer: Response) -> Response:
    headers = answer.headers
    headers["X-Content-Type-Options"] = "nosniff"
    if request.endpoint == "static" and answer.mimetype in INERT:
        return answer
    headers.setdefault("Content-Security-Policy", POLICY)
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
