"""When something goes wrong: a sentence, on a page for people and as plain text for the outbox."""

from __future__ import annotations

import errno
import secrets
import sqlite3

from flask import Flask, Response, current_app, make_response, render_template, request
from jinja2 import TemplateNotFound
from werkzeug.exceptions import HTTPException, InternalServerError

from intake.counter.words import N_, _
from intake.paper import PaperError

SENTENCES = {
    400: N_("The request could not be understood, so nothing was changed."),
    404: N_("There is nothing at this address."),
    405: N_("This address cannot do that."),
    413: N_("That is too large to send. What was typed is still on this page."),
    503: N_("The shop's file is busy. Nothing is lost; try again in a moment."),
    507: N_("The shop's disk is full, so this was not saved. Keep the page open and make room."),
    500: N_("Something went wrong here, and it was written down. Nothing typed on this page is lost."),
}


def install(app: Flask) -> None:
    """Answer every error in words."""
    app.register_error_handler(HTTPException, in_words)
    app.register_error_handler(PaperError, paper_trouble)
    app.register_error_handler(sqlite3.OperationalError, store_trouble)
    app.register_error_handler(OSError, disk_trouble)


def in_words(error: HTTPException) -> Response:
    """The error as a page or a line, with its own sentence where one was given."""
    if error.response is not None:
        return make_response(error.response)
    status = error.code or 500
    own = error.description if error.description != type(error).description else None
    sentence = own or _(SENTENCES.get(status, SENTENCES[400 if status < 500 else 500]))
    number = ""
    if isinstance(error, InternalServerError):
        number = secrets.token_hex(4)
        current_app.logger.error("error %s", number, exc_info=error.original_exception)
    answer = _shown(sentence, status, number)
    for name, value in error.get_headers():
        if name.lower() in ("allow", "retry-after"):
            answer.headers[name] = value
    return answer


def store_trouble(error: sqlite3.OperationalError) -> Response:
    """A busy file or a full disk has its own answer, so that the phone keeps what it has and retries."""
    name = getattr(error, "sqlite_errorname", "") or ""
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        answer = in_words(_HTTP(503))
        answer.headers["Retry-After"] = "2"
        return answer
    if name == "SQLITE_FULL":
        return in_words(_HTTP(507))
    return in_words(InternalServerError(original_exception=error))


def disk_trouble(error: OSError) -> Response:
    """A photo or a document that found no room."""
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return in_words(_HTTP(507))
    return in_words(InternalServerError(original_exception=error))


def paper_trouble(error: PaperError) -> Response:
    """The quote stands, its document could not be made; the sentence says why."""
    current_app.logger.error("paper: %s", error)
    return in_words(_HTTP(503, str(error)))


class _HTTP(HTTPException):
    """A status with the sentence given, else our own for it."""

    def __init__(self, code: int, sentence: str | None = None) -> None:
        super().__init__(sentence)
        self.code = code


def _shown(sentence: str, status: int, number: str) -> Response:
    line = Response(sentence, status, mimetype="text/plain")
    if "Idempotency-Key" in request.headers or "HX-Request" in request.headers:
        return line
    try:
        page = render_template("counter/error.html", sentence=sentence, status=status, number=number)
    except TemplateNotFound:
        return line
    return Response(page, status)
