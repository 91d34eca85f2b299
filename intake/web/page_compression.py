"""Compresses pages for a slow line, where that gives no secret away.

Compression lets an attacker who can see lengths guess a secret that stands beside text of his choosing, one
request after the other (BREACH, Gluck, Harris and Prado 2013). A page asked for with words in its address
repeats them (the board's search), so it goes out as it is. No page holds a cookie's token. Two kinds hold
another secret: a customer's page the key of its own link, which nobody can have asked for without that key;
and the pages that show a link or an enrolment just made, which answer a post, are refused to other sites, and
hold a new secret each time.

What phones keep to work without a line (it carries `Build`) is the same for everybody: packed once, as small
as it gets.
"""

from __future__ import annotations

from functools import lru_cache

from flask import Flask, Response, request

from intake.web.content_encoding import Packing, label, wanted

KINDS = frozenset({"text/html", "text/javascript", "application/manifest+json", "application/json"})
LEAST = 1024


def install(app: Flask) -> None:
    """Compress what the routes answer; static files do it for themselves."""
    app.after_request(shrink)


def shrink(answer: Response) -> Response:
    """The answer with its body compressed, where that is safe, worth it and asked for."""
    if answer.mimetype not in KINDS or request.query_string or answer.is_streamed:
        return answer
    if "Content-Encoding" in answer.headers or answer.status_code in (204, 206, 304):
        return answer
    body, packing = answer.get_data(), wanted()
    if len(body) >= LEAST:
        label(answer, packing)
        if packing:
            answer.set_data(pack_once(packing, body) if "Build" in answer.headers else packing.pack(body, 0))
    return answer


@lru_cache(maxsize=16)
def pack_once(packing: Packing, body: bytes) -> bytes:
    return packing.pack(body, 1)
