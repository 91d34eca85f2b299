"""Walk-ins as flat fields, and pictures."""

from __future__ import annotations

import io
import tomllib
from collections.abc import Callable
from typing import Any

import pytest
from PIL import Image

from intake.book.answers import to_fields
from intake.config import demo_book
from intake.counter.desk import Desk

Pairs = list[tuple[str, str]]


@pytest.fixture
def sample(desk: Desk) -> Callable[[str], Pairs]:
    """The answers of a sample walk-in, by the number in its file's name."""

    def read(number: str) -> Pairs:
        (path,) = (demo_book() / "walkins").glob(f"{number}-*.toml")
        return to_fields(desk.book, tomllib.loads(path.read_text("utf-8"))["answers"])

    return read


@pytest.fixture
def picture() -> Callable[..., bytes]:
    """An encoded picture: `picture("JPEG", (40, 30), exif=...)`."""

    def make(kind: str = "JPEG", size: tuple[int, int] = (40, 30), **options: Any) -> bytes:
        target = io.BytesIO()
        Image.new("RGB", size, (200, 120, 40)).save(target, kind, **options)
        return target.getvalue()

    return make


@pytest.fixture
def quoted(phone: Any, ticket: str, sample: Callable[[str], Pairs]) -> str:
    """A ticket with the walk-in of the old flat top, every step saved."""
    phone.take_in(ticket, sample("03"))
    return ticket
