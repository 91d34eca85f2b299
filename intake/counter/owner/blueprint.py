"""The owner's routes, one module for each kind of page."""

from __future__ import annotations

from flask import Blueprint

owner = Blueprint("owner", __name__, url_prefix="/book")


def register_routes() -> Blueprint:
    """The blueprint with every route on it."""
    from intake.counter.owner import exchange, hours, lists, money, overview, tables, weighing

    assert all((exchange, hours, lists, money, overview, tables, weighing))
    return owner
