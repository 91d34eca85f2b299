"""Requests that act once, however often they come.

The phone sends each entry with a key and drops it only when an answer repeats that key. The answer is
stored in the transaction that has the effect, so that the second request with a key gets the first one's.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from typing import Any

from flask import Response, abort, g, make_response, request
from sqlite_utils import Database
from wtforms import HiddenField

from intake.i18n import _
from intake.services.context import Context
from intake.store import idempotency_keys
from intake.web.context import current_context
from intake.web.forms import PageForm, posted_pairs

KEPT_HEADERS = ("Content-Type", "Location", "Revision")
Effect = Callable[[Database], Response]
Route = Callable[..., Response]


class KeyForm(PageForm):
    """The key of a form that posts without script."""

    key = HiddenField()


def idempotent(route: Route) -> Route:
    """A route that acts once: it gets its transaction's database as `db`, and what it answers is kept with
    the request's key. 400 when the key came with another body before, 409 while the same key is under way,
    both without repeating the key."""

    @wraps(route)
    def act(**path: Any) -> Response:
        return answered_once(lambda db: route(db, **path))

    return act


def answered_once(effect: Effect) -> Response:
    """The same where something is worked out before the store is locked; without a key it just runs."""
    return prepared_once(lambda: effect)


def prepared_once(prepare: Callable[[], Effect], key: str | None = None) -> Response:
    """The same again where that is slow: `prepare` does it and returns the effect, before the
    store is locked, and not at all for a key (as sent, if none is given) that has its answer."""
    key, ctx = sent_key() if key is None else key, current_context()
    if not key:
        effect = prepare()
        with ctx.store.writing() as db:
            return effect(db)
    with _alone(ctx, key):
        body = fingerprint()
        answer = stored(ctx.store.db, key, body) or _prepared(ctx, prepare, key, body)
    answer.headers["Saved-Key"] = key
    return answer


def sent_key() -> str:
    """The header `Idempotency-Key`, else the hidden field; empty without either."""
    key = request.headers.get("Idempotency-Key") or KeyForm.posted().key.data or ""
    if len(key) > 200 or not key.isascii() or not key.isprintable() or " " in key:
        abort(400, _("The key of this entry is not one that this program made."))
    return key


def form_key() -> str:
    """The key of a rendered form that posts: the same form filled in otherwise is another entry."""
    key = sent_key()
    return f"{key}.{fingerprint()[:16]}" if key else ""


def stored(db: Database, key: str, body: str) -> Response | None:
    """The answer that the key got before. Aborts with 400 if it came with another body."""
    found = idempotency_keys.find(db, key)
    if found is None:
        return None
    first_body, answer = found
    if first_body != body:
        abort(400, _("The key of this entry was used before for something else. Keep the entry and show it."))
    g.replayed = True
    return Response(answer.body, answer.status, answer.headers)


def fingerprint() -> str:
    """Hash of what is asked: the address, the fields in order, the files. Not the bytes, since the
    boundary of a multipart body changes each time."""
    fields = [pair for pair in posted_pairs() if pair[0] != "key"]
    files = [(name, _file_hash(file.stream)) for name, file in request.files.items(multi=True)]
    return hashlib.sha256(json.dumps([request.path, fields, files]).encode()).hexdigest()


def _file_hash(stream) -> str:  # type: ignore[no-untyped-def]
    digest = hashlib.file_digest(stream, "sha256").hexdigest()
    stream.seek(0)
    return digest


def _prepared(ctx: Context, prepare: Callable[[], Effect], key: str, body: str) -> Response:
    """Another process may have answered the key meanwhile."""
    effect = prepare()
    with ctx.store.writing() as db:
        return stored(db, key, body) or _run(db, effect, key, body)


def _run(db: Database, effect: Effect, key: str, body: str) -> Response:
    answer = make_response(effect(db))
    headers = {name: answer.headers[name] for name in KEPT_HEADERS if name in answer.headers}
    idempotency_keys.keep(
        db,
        key,
        body,
        idempotency_keys.Answer(answer.status_code, answer.get_data(), headers),
        current_context().now(),
    )
    return answer


@contextmanager
def _alone(ctx: Context, key: str) -> Iterator[None]:
    with ctx.lock:
        if key in ctx.running:
            abort(409, _("This entry is being saved already; ask again in a moment."))
        ctx.running.add(key)
    try:
        yield
    finally:
        with ctx.lock:
            ctx.running.discard(key)
