"""When something goes wrong: a sentence, on a page for people and as plain text for the outbox."""

from __future__ import annotations

import errno
import sqlite3

from flask import Flask, Response, current_app, make_response, render_template, request
from jinja2 import TemplateNotFound
from werkzeug.exceptions import BadRequest, HTTPException, InternalServerError

from intake.i18n import N_, _
from intake.paper import PaperError
from intake.services.bounded_work import OverloadedError
from intake.services.errors import ConflictError, GoneError, InvalidRequestError, NotFoundError, ServiceError
from intake.web.request_log import request_id

SENTENCES = {
    400: N_("The request could not be understood, so nothing was changed."),
    404: N_("There is nothing at this address."),
    405: N_("This address cannot do that."),
    413: N_("That is too large to send. What was typed is still on this page."),
    503: N_("The shop's file is busy. Nothing is lost; try again in a moment."),
    507: N_("The shop's disk is full, so this was not saved. Keep the page open and make room."),
    500: N_("Something went wrong here, and it was written down. Nothing typed on this page is lost."),
}

STATUS: dict[type[ServiceError], int] = {
    InvalidRequestError: 400,
    NotFoundError: 404,
    ConflictError: 409,
    GoneError: 410,
}


def install(app: Flask) -> None:
    """Answer every error in words, and write it down once, without the address that Flask would name."""
    app.log_exception = lambda _: None  # type: ignore[assignment,method-assign]
    app.register_error_handler(HTTPException, in_words)
    app.register_error_handler(ServiceError, refused)
    app.register_error_handler(PaperError, paper_trouble)
    app.register_error_handler(OverloadedError, overloaded)
    app.register_error_handler(sqlite3.DatabaseError, store_trouble)
    app.register_error_handler(OSError, disk_trouble)


def in_words(error: HTTPException) -> Response:
    """The error as a page or a line, with its own sentence where one was given."""
    if error.response is not None:
        return make_response(error.response)
    status = error.code or 500
    own = error.description if error.description != type(error).description else None
    sentence = own or _(SENTENCES.get(status, SENTENCES[400 if status < 500 else 500]))
    number = request_id()
    if isinstance(error, InternalServerError):
        current_app.logger.error("error %s", number, exc_info=error.original_exception)
    answer = _shown(sentence, status, number if status >= 500 else "")
    for name, value in error.get_headers():
        if name.lower() in ("allow", "retry-after"):
            answer.headers[name] = value
    return answer


UNWRITABLE = N_(
    "The shop's disk cannot be written to, so this was not saved. Keep the page open and tell whoever looks "
    "after this program."
)
OVERLOADED = N_("Too much of this is asked for at once. Nothing is lost; try again in a moment.")
DAMAGED = N_(
    "The shop's file is damaged, so this was not saved. Keep the page open; whoever looks after this program "
    "brings back the last backup."
)


def store_trouble(error: sqlite3.DatabaseError) -> Response:
    """Each trouble of file and disk has its own answer; none says "saved", so the phone keeps what it has."""
    name = getattr(error, "sqlite_errorname", "") or ""
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        answer = in_words(_HTTP(503))
        answer.headers["Retry-After"] = "2"
        return answer
    if name == "SQLITE_FULL":
        return _unserved(error, name, _HTTP(507))
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_IOERR", "SQLITE_PERM")):
        return _unserved(error, name, _HTTP(507, _(UNWRITABLE)))
    if name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")):
        return _unserved(error, name, _HTTP(503, _(DAMAGED)))
    return in_words(InternalServerError(original_exception=error))


def disk_trouble(error: OSError) -> Response:
    """A photo or a document that found no room."""
    if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return _unserved(error, errno.errorcode[error.errno], _HTTP(507))
    if error.errno in (errno.EROFS, errno.EACCES, errno.EPERM, errno.EIO):
        return _unserved(error, errno.errorcode[error.errno], _HTTP(507, _(UNWRITABLE)))
    return in_words(InternalServerError(original_exception=error))


def _unserved(error: Exception, name: str, answer: _HTTP) -> Response:
    """Somebody has to do something, so it is written down too."""
    current_app.logger.error("%s, error %s", name, request_id(), exc_info=error)
    return in_words(answer)


def refused(error: ServiceError) -> Response:
    """What a service refused, with its own sentence where it gave one."""
    return in_words(_HTTP(STATUS[type(error)], str(error) or None))


def overloaded(error: OverloadedError) -> Response:
    """Too much of what costs much at once: nothing was done, and others are served meanwhile."""
    answer = in_words(_HTTP(503, _(OVERLOADED)))
    answer.headers["Retry-After"] = "5"
    return answer


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
    if isinstance(request.routing_exception, BadRequest):  # a page needs addresses, which need a host
        return line
    try:
        page = render_template("shared/error.html", sentence=sentence, status=status, number=number)
    except TemplateNotFound:
        return line
    return Response(page, status)
