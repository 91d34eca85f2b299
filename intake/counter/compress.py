"""Pages, compressed for a slow line.

Compression lets an attacker who can see lengths guess secrets that stand beside text of his choosing
(BREACH, Gluck, Harris and Prado 2013). Our pages hold no token of any kind; a page asked for with words in
its address repeats them (the board's search), so it goes out as it is.
"""

from __future__ import annotations

import gzip

from flask import Flask, Response, request

KINDS = frozenset({"text/html", "text/javascript", "application/manifest+json", "application/json"})
LEAST = 1024
LEVEL = 6


def install(app: Flask) -> None:
    """Compress what the routes answer; static files do it for themselves."""
    app.after_request(shrink)


def shrink(answer: Response) -> Response:
    """The answer with its body compressed, where that is safe, worth it and asked for."""
    if answer.mimetype not in KINDS or request.query_string or answer.direct_passthrough:
        return answer
    answer.vary.add("Accept-Encoding")
    if "gzip" not in request.accept_encodings or "Content-Encoding" in answer.headers or answer.is_streamed:
        return answer
    body = answer.get_data()
    if len(body) >= LEAST and answer.status_code not in (204, 206, 304):
        answer.set_data(gzip.compress(body, LEVEL, mtime=0))
        answer.headers["Content-Encoding"] = "gzip"
    return answer
