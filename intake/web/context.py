"""The context of the running app: store, clock and current book."""

from __future__ import annotations

from typing import Any, cast

from flask import current_app, g, has_request_context

from intake.services.context import Context


def current_context() -> Context:
    """The context of the running app."""
    return cast(Context, current_app.extensions["context"])


def request_cache() -> dict[str, Any] | None:
    """What the request under way keeps to itself; None outside of one."""
    if not has_request_context():
        return None
    if "request_cache" not in g:
        g.request_cache = {}
    return cast(dict[str, Any], g.request_cache)
