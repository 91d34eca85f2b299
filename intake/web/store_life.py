"""Every answer about a ticket says which life of the store it comes from, and how far that has come: a phone
sends again what a store that was set back may have lost."""

from __future__ import annotations

from flask import Flask, Response, request

from intake.store import edits
from intake.web.context import current_context

ERASED = 410


def install(app: Flask) -> None:
    """Put the headers on the answers."""
    app.after_request(tell)


def tell(answer: Response) -> Response:
    """The store's epoch and version, what a verified backup holds, and whether the ticket is erased."""
    if "ticket" in (request.view_args or {}) and answer.status_code < 500:
        life = edits.life(current_context().store.db)
        answer.headers["Epoch"] = life.epoch
        answer.headers["Version"] = str(life.version)
        answer.headers["Backed-Up"] = str(life.backed_up)
        if answer.status_code == ERASED:
            answer.headers["Erased"] = "yes"
    return answer
