"""Which book is in force after a start: the folder's as long as no revision was made here since."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from intake.book.files.load import load_book
from intake.book.model import Book
from intake.book.problems import BookError, Problem
from intake.services.context import Context
from intake.store import books, revisions
from intake.store.books import Files
from intake.store.db import Store


def load_files(files: Files) -> Book:
    """The book that these files make. Raises BookError."""
    with TemporaryDirectory() as folder:
        read = {name: content for name, content in files.items() if not name.startswith("walkins/")}
        books.write_folder(read, Path(folder))
        return load_book(Path(folder))


def take_in(store: Store, folder: Path, now: datetime) -> Book | None:
    """Put the folder's book in force at a start, and return it; None where the folder is not read.

    A folder that has changed since the last start makes the next revision. But once somebody has made one on
    the screens or by `tallyfret book load`, that holds, and the folder is not read: what was decided here is
    never overwritten by a start. Raises BookError.
    """
    held = revisions.in_force(store.db)
    if held and held.kind != "start":
        return None
    book = load_book(folder)
    if held is None or held.digest != book.digest:
        with store.writing() as db:
            files = read_files(folder)
            revisions.put_in_force(db, book.digest, files, now, "start", about=folder.name)
    return book


def check_in_force(ctx: Context) -> None:
    """Raise BookError, with the way out, if this version of the program cannot read the book in force."""
    try:
        assert ctx.book
    except BookError as error:
        sentence = (
            "The book in force cannot be read by this version: tallyfret book export FOLDER writes it out; "
            "mend what follows, and tallyfret book load FOLDER puts it in force again."
        )
        raise BookError([Problem("book", None, "", sentence), *error.problems]) from error


def read_files(folder: Path) -> dict[str, bytes]:
    """The folder's files. Raises BookError if they are too many bytes."""
    try:
        return books.read_folder(folder)
    except ValueError as error:
        raise BookError([Problem(folder.name, None, "", f"{error}.")]) from error
