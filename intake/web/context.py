"""The context of the running app: store, clock and current book."""

from __future__ import annotations

from typing import cast

from flask import current_app

from intake.services.context import Context


def current_context() -> Context:
    """The desk of the running app."""
    return cast(Context, current_app.extensions["context"])
