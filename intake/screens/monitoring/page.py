"""`/healthz` and `/metrics`."""

from __future__ import annotations

import shutil
import sqlite3
from importlib.metadata import version

from flask import Response, abort, jsonify, request

from intake.operations.metrics import CONTENT_TYPE, exposition
from intake.screens.monitoring.blueprint import blueprint
from intake.services.context import Context
from intake.store.backup.archive import archives
from intake.web.context import current_context
from intake.web.origin import from_this_machine

LEAST_FREE = 50 * 10**6
"""A photo, a PDF and the write-ahead log want more than the last few bytes of a disk."""


@blueprint.get("/healthz")
def healthz() -> Response:
    """200 while the shop can work, else 503 with what is wrong; for whatever watches over the machine."""
    ctx = current_context()
    free = shutil.disk_usage(ctx.store.folder).free
    status = "ok" if free >= LEAST_FREE else "the disk is full"
    try:
        ctx.store.db.execute("select 1 from tickets limit 1").fetchone()
    except sqlite3.Error:
        status = "the database cannot be read"
    answer = jsonify(status=status, version=version("tallyfret"), disk_free_mb=free // 10**6)
    answer.status_code = 200 if status == "ok" else 503
    answer.headers["Cache-Control"] = "no-store"
    return answer


@blueprint.get("/metrics")
def show_metrics() -> Response:
    """OpenMetrics, for a collector on this machine alone."""
    if not from_this_machine(request):
        abort(404)
    return Response(exposition(gauges(current_context())), content_type=CONTENT_TYPE)


def gauges(ctx: Context) -> dict[str, float]:
    """Values of the moment: seconds, bytes and counts. What there is none of is left out."""
    now = ctx.now()
    found = {
        "tickets": _one(ctx, "select coalesce(max(number), 0) from tickets"),
        "outbox_waiting": _one(ctx, "select count(*) from outbox where state in ('waiting', 'sending')"),
        "outbox_unsure": _one(ctx, "select count(*) from outbox where state in ('unsure', 'refused')"),
        "database_bytes": float(ctx.store.path.stat().st_size),
        "disk_free_bytes": float(shutil.disk_usage(ctx.store.folder).free),
    }
    oldest = "select (julianday(?) - julianday(min(created))) * 86400 from outbox where state = 'waiting'"
    waiting = ctx.store.db.execute(oldest, [now.isoformat()]).fetchone()[0]
    if waiting is not None:
        found["outbox_oldest_seconds"] = waiting
    for newest in archives(ctx.store.backups)[:1]:
        found["backup_age_seconds"] = (now - newest.made).total_seconds()
    return found


def _one(ctx: Context, sql: str) -> float:
    return float(ctx.store.db.execute(sql).fetchone()[0])
