"""The minimal valid book beside this file, copied so that a test can change one thing."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from intake.book.load import load_book
from intake.book.model import Book

MINIMAL = Path(__file__).parent / "minimal"
Change = tuple[str, str, str]
WriteBook = Callable[..., Path]


@pytest.fixture
def write_book(tmp_path: Path) -> WriteBook:
    """Writes the minimal book with changes: (file, what stood there, what stands there now).

    An empty second part writes the file anew.
    """

    def write(*changes: Change) -> Path:
        folder = tmp_path / "book"
        shutil.copytree(MINIMAL, folder, dirs_exist_ok=True)
        for name, old, new in changes:
            path = folder / name
            content = path.read_text("utf-8") if old else ""
            assert old in content, f"{old!r} does not stand in {name}"
            path.write_text(content.replace(old, new) if old else new, encoding="utf-8")
        return folder

    return write


@pytest.fixture(scope="session")
def book() -> Book:
    return load_book(MINIMAL)
