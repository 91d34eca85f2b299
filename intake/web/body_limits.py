"""How much a request may weigh, known before its body is read: much only from phones and staff."""

from __future__ import annotations

from functools import partial
from typing import Any

from flask import Flask, current_app, request
from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Request

from intake.store import devices, sessions
from intake.web.context import current_context

LARGEST_OF_STRANGERS = 128 * 1024
"""A customer's longest answer: a signature of 20,000 signs and 2,000 of words, percent-encoded."""
TAKES_FILES = frozenset({"wizard.add_photo", "wizard.save_all", "wizard.save_new", "book_editor.bring_in"})
"""Whatever else comes in is text: it may weigh MAX_FORM_MEMORY_SIZE, these MAX_CONTENT_LENGTH."""


def install(app: Flask) -> None:
    """Hold every request to its limit; the server, which reads bodies, asks two of the extensions."""
    app.extensions["body_limit"] = partial(most_bytes, app)
    app.extensions["body_wanted"] = partial(is_wanted, app)
    app.before_request(limit_body)


def limit_body() -> None:
    if request.content_length is not None:  # the server has counted what came in pieces
        request.max_content_length = _most(request, request.endpoint or "")


def most_bytes(app: Flask, environ: dict[str, Any]) -> int:
    """For a request of which the headers are there and the body is not."""
    with app.app_context():
        asked = Request(environ)
        try:
            endpoint, _ = app.url_map.bind_to_environ(environ).match()
        except HTTPException:
            endpoint = ""
        return _most(asked, str(endpoint))


def is_wanted(app: Flask, environ: dict[str, Any]) -> bool:
    """Whether a long body is to be kept: only somebody signed in can do anything with one."""
    with app.app_context():
        ctx, sent = current_context(), _sent(Request(environ), "session")
        return any(sessions.living(ctx.store.db, token, ctx.now()) for token in sent)


def _most(asked: Request, endpoint: str) -> int:
    """A form without files is read whole into memory; only photos and books weigh more."""
    if asked.content_length is not None and asked.content_length <= LARGEST_OF_STRANGERS:
        return LARGEST_OF_STRANGERS  # whoever asks may send as much, so nobody has to be looked up
    if not _is_known(asked):
        return LARGEST_OF_STRANGERS
    files = endpoint in TAKES_FILES and asked.mimetype == "multipart/form-data"
    most: int = current_app.config["MAX_CONTENT_LENGTH" if files else "MAX_FORM_MEMORY_SIZE"]
    return most


def _is_known(asked: Request) -> bool:
    """Whether an enrolled phone or somebody signed in asks. What they may do is not decided here, and a phone
    whose session has ended, or that was withdrawn, is to hear it when it sends a photo."""
    ctx = current_context()
    return any(devices.with_token(ctx.store.db, token) for token in _sent(asked, "device")) or any(
        sessions.living(ctx.store.db, token, ctx.now()) for token in _sent(asked, "session")
    )


def _sent(asked: Request, kind: str) -> list[str]:
    """The cookie of that kind, by either of its names."""
    return [asked.cookies[name] for name in (kind, f"__Host-{kind}") if asked.cookies.get(name)]
