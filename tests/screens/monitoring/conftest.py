"""A ticket with a whole walk-in."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from intake.book.answers import to_fields
from intake.config import demo_book
from intake.services.context import Context


@pytest.fixture
def quoted(phone: Any, ticket: str, ctx: Context) -> str:
    """A ticket with the walk-in of the old flat top, every step saved."""
    (path,) = (demo_book() / "walkins").glob("03-*.toml")
    pairs = to_fields(ctx.book, tomllib.loads(path.read_text("utf-8"))["answers"])
    phone.take_in(ticket, pairs)
    return ticket
