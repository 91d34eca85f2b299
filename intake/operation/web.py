"""Every answer but files has a request id, is counted and written down; `/healthz` and `/metrics`."""

from __future__ import annotations

import logging
import secrets
import shutil
import sqlite3
import time
from importlib.metadata import version
from ipaddress import ip_address
from typing import cast

from flask import Blueprint, Flask, Response, abort, g, jsonify, request

from intake.counter.desk import Desk, desk
from intake.operation.logs import REQUEST
from intake.operation.metrics import CONTENT_TYPE, COUNTED
from intake.store.archive import archives

log = logging.getLogger(REQUEST)
operation = Blueprint("operation", __name__)
SAVES = {200: "stored", 422: "stored with messages", 412: "clash"}
LEAST_FREE = 50 * 10**6
"""A photo, a PDF and the write-ahead log want more than the last few bytes of a disk."""
PASSED_ON = ("Forwarded", "X-Forwarded-For", "X-Real-IP")


def install(app: Flask) -> None:
    """Put it before everything else, so that refusals are counted too."""
    app.before_request(begin)
    app.after_request(end)
    app.register_blueprint(operation)


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
    COUNTED.count("requests", route=route, method=request.method, status=str(answer.status_code))
    COUNTED.took("request", seconds)
    if request.endpoint == "counter.save_step" and answer.status_code in SAVES:
        COUNTED.took("save", seconds)
        COUNTED.count("replays" if g.get("replayed") else "saves", result=SAVES[answer.status_code])
    fields = {
        "id": request_id(),
        "method": request.method,
        "route": route,
        "status": answer.status_code,
        "ms": round(seconds * 1000, 1),
    }
    log.info("answered", extra={"fields": fields})
    return answer


@operation.get("/healthz")
def healthz() -> Response:
    """200 while the shop can work, else 503 with what is wrong; for whatever watches over the machine."""
    here = desk()
    free = shutil.disk_usage(here.store.folder).free
    status = "ok" if free >= LEAST_FREE else "the disk is full"
    try:
        here.store.db.execute("select 1 from tickets limit 1").fetchone()
    except sqlite3.Error:
        status = "the database cannot be read"
    answer = jsonify(status=status, version=version("tallyfret"), disk_free_mb=free // 10**6)
    answer.status_code = 200 if status == "ok" else 503
    answer.headers["Cache-Control"] = "no-store"
    return answer


@operation.get("/metrics")
def show_metrics() -> Response:
    """OpenMetrics, for a collector on this machine alone."""
    if not _from_here():
        abort(404)
    return Response(COUNTED.text(gauges(desk())), content_type=CONTENT_TYPE)


def gauges(here: Desk) -> dict[str, float]:
    """Values of the moment: seconds, bytes and counts. What there is none of is left out."""
    now = here.now()
    found = {
        "tickets": _one(here, "select coalesce(max(number), 0) from tickets"),
        "outbox_waiting": _one(here, "select count(*) from outbox where state in ('waiting', 'sending')"),
        "outbox_unsure": _one(here, "select count(*) from outbox where state in ('unsure', 'refused')"),
        "database_bytes": float(here.store.path.stat().st_size),
        "disk_free_bytes": float(shutil.disk_usage(here.store.folder).free),
    }
    oldest = "select (julianday(?) - julianday(min(created))) * 86400 from outbox where state = 'waiting'"
    waiting = here.store.db.execute(oldest, [now.isoformat()]).fetchone()[0]
    if waiting is not None:
        found["outbox_oldest_seconds"] = waiting
    for newest in archives(here.store.backups)[:1]:
        found["backup_age_seconds"] = (now - newest.made).total_seconds()
    return found


def _one(here: Desk, sql: str) -> float:
    return float(here.store.db.execute(sql).fetchone()[0])


def _from_here() -> bool:
    """True from loopback, unless a proxy on this machine asks for somebody else."""
    if any(name in request.headers for name in PASSED_ON):
        return False
    try:
        return ip_address(request.remote_addr or "").is_loopback
    except ValueError:
        return False
