"""The door for phones that do not trust the shop's certificate yet: plain http, and nothing behind it.

Such a phone has to fetch the certificate somehow. Fetching it over https would mean going past the browser's
warning, and nobody should learn that. So a port of its own shows the page about trust with its downloads,
none of them secret, and sends whatever else is asked for to the https address. What came over this door can
have been changed on its way: the page asks to compare the certificate's fingerprint with the shop's screen.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote
from wsgiref.types import StartResponse, WSGIApplication

TRUST = "/trust"
SHOWN = (f"{TRUST}/", "/static/")
CREDENTIALS = ("HTTP_COOKIE", "HTTP_AUTHORIZATION")


@dataclass(frozen=True)
class Door:
    """WSGI: what of `app` a phone may see before it trusts `origin`, such as `https://192.168.1.20:8642`."""

    app: WSGIApplication
    origin: str

    def __call__(self, environ: dict[str, Any], start: StartResponse) -> Iterable[bytes]:
        path = environ.get("PATH_INFO", "")
        if environ["REQUEST_METHOD"] not in ("GET", "HEAD"):
            return _answer(start, "405 Method Not Allowed", [("Allow", "GET, HEAD")])
        if path == TRUST or path.startswith(SHOWN):
            return self.app({key: environ[key] for key in environ if key not in CREDENTIALS}, start)
        onward = TRUST if path in ("", "/") else f"{self.origin}{quote(path, encoding='latin-1')}"
        return _answer(start, "302 Found", [("Location", onward), ("Cache-Control", "no-store")])


def _answer(start: StartResponse, status: str, headers: list[tuple[str, str]]) -> Iterable[bytes]:
    start(status, [*headers, ("Content-Length", "0")])
    return ()
