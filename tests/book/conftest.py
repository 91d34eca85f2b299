"""The minimal valid book beside this file, and the demo book, copied so that a test can change one thing."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from intake.book.checks.run import check_book
from intake.book.files.load import load_book
from intake.book.model import Book
from intake.book.problems import BookError, Problem

MINIMAL = Path(__file__).parent / "minimal"
DEMO = Path(__file__).parents[2] / "pricing_demo"
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


@pytest.fixture
def demo_with(tmp_path: Path) -> Callable[..., list[Problem]]:
    """What the command line prints on the demo book with changes: (file, what stood there, what does now).

    An empty second part writes the file anew; another stands once, or counts where it stands first.
    """

    def problems(*changes: Change) -> list[Problem]:
        folder = tmp_path / "demo"
        shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("walkins"), dirs_exist_ok=True)
        for name, old, new in changes:
            path = folder / name
            content = path.read_text("utf-8") if old else ""
            assert old in content, f"{old!r} does not stand in {name}"
            path.write_text(content.replace(old, new, 1), encoding="utf-8")
        try:
            return check_book(load_book(folder))
        except BookError as error:
            return error.problems

    return problems


@pytest.fixture
def problems_of_folder() -> Callable[[Path], list[Problem]]:
    """What the command line prints on a folder."""

    def problems(folder: Path) -> list[Problem]:
        try:
            return check_book(load_book(folder))
        except BookError as error:
            return error.problems

    return problems


@pytest.fixture
def problems_with(
    write_book: WriteBook, problems_of_folder: Callable[[Path], list[Problem]]
) -> Callable[..., list[Problem]]:
    """The same of the minimal book with changes."""
    return lambda *changes: problems_of_folder(write_book(*changes))
