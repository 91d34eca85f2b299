"""The counter's routes, one module for each kind of page."""

from __future__ import annotations

from flask import Blueprint

counter = Blueprint("counter", __name__)


def register_routes() -> Blueprint:
    """The blueprint with every route on it."""
    from intake.counter import (
        board,
        discounting,
        enrolling,
        from_phone,
        installing,
        on_bench,
        people,
        photographs,
        quotation,
        saving,
        setting_up,
        signing_in,
        trusting,
        wizard,
    )

    assert all((board, discounting, from_phone, installing, on_bench, photographs, quotation, saving, wizard))
    assert all((enrolling, people, setting_up, signing_in, trusting))
    return counter
