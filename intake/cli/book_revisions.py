"""`tallyfret book load` and `export`: the book in force, from the shop's own computer."""

from __future__ import annotations

from contextlib import closing, suppress
from pathlib import Path

import click

from intake.book.checks.run import check_book
from intake.book.files.load import digest, load_book
from intake.book.model import Book
from intake.book.problems import BookError
from intake.cli.staff import HERE, store_of
from intake.config import demo_book, utc_now
from intake.i18n.formats import day_of
from intake.screens.book_editor.changelog import changes
from intake.screens.book_editor.validation import validate
from intake.services.current_book import load_files, read_files
from intake.store import books, events, revisions
from intake.store.backup.archive import DATABASE
from intake.store.books import Files
from intake.store.db import Store, connect
from intake.store.errors import typed

FOLDER = click.Path(path_type=Path)
DEMO_TOLD = (
    "Quotes carry the invented demo shop's name and prices. For your own: {export}, change what is there,"
    " {load}."
)


CONFIRM = click.option("--confirm", is_flag=True, help="What the checker has to say of the book is meant so.")


@click.command()
@click.argument("folder", type=click.Path(exists=True, file_okay=False, path_type=Path))
@CONFIRM
@click.pass_obj
def load(data: Path | None, folder: Path, confirm: bool) -> None:
    """Put the book of FOLDER in force, once loader and checker let it pass. A running server takes it up."""
    files = read_files(folder)
    with store_of(data, new=True) as store:
        held = revisions.in_force(store.db)
        before = revisions.files_of(store.db, held.number) if held else {}
        book = _judged(files, before, confirm)
        if held and files == before:
            click.echo(f"That is book {held.number}, which is in force already.")
            return
        number = _put(store, book, files, before, folder)
    click.echo(f"Book {number} is in force: {folder}")


@click.command()
@click.argument("folder", type=FOLDER)
@click.pass_obj
def export(data: Path | None, folder: Path) -> None:
    """Write the book in force into FOLDER, which must be empty or new."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise click.ClickException(f"{folder} is not empty; nothing was written.")
    with store_of(data) as store:
        held = revisions.in_force(store.db)
        if held is None:
            raise click.ClickException("No book is in force yet: tallyfret serve reads one, or book load.")
        books.write_folder(revisions.files_of(store.db, held.number), folder)
    click.echo(f"Book {held.number} is in {folder}")


def in_force_told(data: Path) -> str:
    """Which book a start has put in force, in a sentence; empty for the shop’s own from its folder."""
    with closing(connect(data / DATABASE)) as db:
        held = revisions.in_force(db)
    if held is None or held.kind == "start":
        return _demo_told(data) if held and held.digest == digest(demo_book()) else ""
    return (
        f"Book {held.number} is in force, saved by {held.who or held.device} on {day_of(held.at)}; folders "
        "are not read any more: tallyfret book load FOLDER brings one in, book export FOLDER writes it out."
    )


def _demo_told(data: Path) -> str:
    export, load = (typed(data, "book", word, "FOLDER") for word in ("export", "load"))
    return DEMO_TOLD.format(export=export, load=load)


def _base(before: Files, files: Files) -> Book:
    """The book that was in force, if this version of the program can read it still, else the new one."""
    with suppress(BookError):
        return load_files(before)
    return load_files(files)


def look_over(data: Path, folder: Path, confirm: bool) -> None:
    """Say what `book check` says of a folder that a start reads.

    Raises ClickException if it is not in force yet, has something to look at, and nobody confirms it.
    """
    held = None
    if (data / DATABASE).is_file():
        with closing(connect(data / DATABASE)) as db:
            held = revisions.in_force(db)
    if held and held.kind != "start":
        return
    book = load_book(folder)
    found = check_book(book)
    for problem in found:
        click.echo(str(problem), err=True)
    if found and not confirm and (held is None or held.digest != book.digest):
        raise click.ClickException(
            f"{len(found)} to look at, and this book is not in force yet. "
            "With --confirm it is taken as it stands."
        )


def _judged(files: Files, before: Files, confirm: bool) -> Book:
    """The book; raises BookError with what refuses it, prints what is worth a look."""
    verdict = validate(files, _base(before, files))
    if verdict.book is None or verdict.errors:
        raise BookError(verdict.errors)
    for remark in verdict.remarks:
        click.echo(str(remark))
    doubts = sum(remark.doubt for remark in verdict.remarks)
    if doubts and not confirm:
        raise click.ClickException(f"{doubts} of these hardly can be meant. With --confirm they are.")
    return verdict.book


def _put(store: Store, book: Book, files: Files, before: Files, folder: Path) -> int:
    """Make the revision; its number."""
    said = "\n".join(changes(before, files)) if before else ""
    now = utc_now()
    with store.writing() as db:
        number = revisions.put_in_force(
            db, book.digest, files, now, "load", about=folder.name, changes=said, by=HERE
        )
        events.record(db, "book saved", now, by=HERE, revision=number, kind="load")
    return number
