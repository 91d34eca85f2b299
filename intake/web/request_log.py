"""A number for every request, its line in the log, and what is counted of it."""

from __future__ import annotations

import logging
import secrets
import time
from typing import cast

from flask import Flask, Response, g, request

from intake.operations.logs import REQUEST
from intake.operations.metrics import REPLAYS, REQUEST_SECONDS, REQUESTS, SAVE_SECONDS, SAVES

log = logging.getLogger(REQUEST)
RESULTS = {200: "stored", 422: "stored with messages", 412: "clash"}


def install(app: Flask) -> None:
    """Put it before everything else, so that refusals are counted too."""
    app.before_request(begin)
    app.after_request(end)


def request_id() -> str:
    """The id of the request being answered, 64 random bits."""
    if "request_id" not in g:
        g.request_id = secrets.token_hex(8)
    return cast(str, g.request_id)


def begin() -> None:
    request_id()
    g.began = time.perf_counter()


def end(answer: Response) -> Response:
    """Note the answer. The route stands for the path, which may hold a customer's key."""
    route = request.url_rule.rule if request.url_rule else "none"
    seconds = time.perf_counter() - g.get("began", time.perf_counter())
    if request.endpoint != "static":  # a first load asks for two dozen files: their headers weigh
        answer.headers["Request-Id"] = request_id()
    REQUESTS.labels(route, request.method, answer.status_code).inc()
    REQUEST_SECONDS.observe(seconds)
    if request.endpoint == "wizard.save_step" and answer.status_code in RESULTS:
        SAVE_SECONDS.observe(seconds)
        counter = REPLAYS if g.get("replayed") else SAVES
        counter.labels(RESULTS[answer.status_code]).inc()
    fields = {
        "id": request_id(),
        "method": request.method,
        "route": route,
        "status": answer.status_code,
        "ms": round(seconds * 1000, 1),
    }
    log.info("answered", extra={"fields": fields})
    return answer
