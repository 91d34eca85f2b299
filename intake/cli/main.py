"""The command line. Errors go to standard error with exit code 2, naming file and place."""

from __future__ import annotations

import json
import os
import sqlite3
from datetime import datetime
from decimal import Decimal
from graphlib import CycleError
from pathlib import Path
from typing import Any

import click

from intake.book.files.load import load_book
from intake.book.model import Book
from intake.book.problems import BookError
from intake.book.tables import TableError
from intake.book.trial import try_table
from intake.cli.backup import backup, doctor, export, restore
from intake.cli.book import export as book_export
from intake.cli.book import load
from intake.cli.customer import customer
from intake.cli.errors import CommandError
from intake.cli.serve import PORT, serve
from intake.cli.service_file import service_file
from intake.cli.staff import staff
from intake.config import DATA_VARIABLE, SettingsError, demo_book
from intake.lan.errors import LanError
from intake.quoting.calendar import NeverOpenError
from intake.quoting.model import Quote, Walkin
from intake.quoting.quote import make_quote
from intake.quoting.to_json import quote_json
from intake.quoting.to_text import quote_text
from intake.quoting.walkin import WalkinError, load_walkin, problem_at
from intake.store.errors import StoreError
from intake.trade.checks import check_lines
from intake.trade.registry import REGISTRY
from intake.trade.units import MeasureError

DATA = "--data"
EXPECTED = (
    BookError,
    TableError,
    WalkinError,
    MeasureError,
    NeverOpenError,
    CycleError,
    SettingsError,
    StoreError,
    LanError,
    OSError,
    sqlite3.Error,
)
FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
FOLDER = click.Path(path_type=Path)


class Commands(click.Group):
    """Turns the errors that a person can mend into sentences, and takes --data wherever it is written: after
    `backup` the nearest option that exists is --to, which means something else."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        for at, word in enumerate(args):
            if word.partition("=")[0] == DATA:
                end = at + (1 if "=" in word else 2)
                args = [*args[at:end], *args[:at], *args[end:]]
                break
        return super().parse_args(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except BrokenPipeError:
            raise
        except EXPECTED as error:
            raise CommandError(_sentence(error)) from error


def _sentence(error: BaseException) -> str:
    if isinstance(error, OSError) and error.strerror:
        return f"{error.filename}: {error.strerror}." if error.filename else f"{error.strerror}."
    if isinstance(error, sqlite3.Error):
        return f"The shop's database cannot be used now: {error}. tallyfret doctor looks it over."
    if isinstance(error, CycleError):
        return f"jobs.csv, after: these jobs wait for each other in a circle: {' → '.join(error.args[1])}."
    return str(error)


@click.group(cls=Commands)
@click.version_option(package_name="tallyfret")
@click.option(
    DATA,
    envvar=DATA_VARIABLE,
    type=FOLDER,
    help=f"The shop's data; else {DATA_VARIABLE}, else your data folder.",
)
@click.pass_context
def main(context: click.Context, data: Path | None) -> None:
    """Counter intake, assessment and quoting for fretted-instrument repair shops."""
    os.umask(0o077)  # whatever is written holds customers: it is for this user alone
    context.obj = data


@main.command()
@click.option("--once", is_flag=True, help="Take the sample walk-in to a PDF and stop.")
@click.option("--port", default=PORT, show_default=True, type=click.IntRange(0, 65535))
@click.pass_obj
def demo(data: Path | None, once: bool, port: int) -> None:
    """Show the demo shop: a sample walk-in to a PDF, then the counter."""
    from intake.demo.run import run

    run(data, once=once, port=port)


@main.command()
@click.argument("walkin", type=FILE)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, the contract for tools.")
@click.option("--pdf", type=click.Path(dir_okay=False, path_type=Path), help="Write the quote as a PDF too.")
@click.option("--book", type=FOLDER, help="Folder of the price book; else the demo shop's.")
@click.option("--today", type=click.DateTime(["%Y-%m-%d"]), help="Quote as on this day; else today.")
def quote(walkin: Path, as_json: bool, pdf: Path | None, book: Path | None, today: datetime | None) -> None:
    """Quote one walk-in file."""
    loaded, taken = load_book(book or demo_book()), load_walkin(walkin)
    made = make_quote(loaded, taken, (today or datetime.now()).date())
    refuse_problems(walkin, made)
    if pdf:
        pdf.write_bytes(_printed(made, loaded, taken, walkin.stem))
    shown = (
        json.dumps(quote_json(made), indent=2, ensure_ascii=False) if as_json else quote_text(made, loaded)
    )
    click.echo(shown, nl=as_json)


def refuse_problems(path: Path, made: Quote) -> None:
    """A file, unlike a counter, has to be right as a whole. Raises WalkinError."""
    problems = [problem_at(path, id, sentence) for id, sentence in made.assessment.problems.items()]
    if problems:
        raise WalkinError(problems)


def _printed(made: Quote, book: Book, walkin: Walkin, number: str) -> bytes:
    """The PDF. A quote without a ticket has no address; its code is that of the shop's mailbox."""
    from intake.paper import PaperError, render_quote_pdf
    from intake.services.documents import first_paper

    url = f"mailto:{book.shop.email}" if book.shop.email else f"tel:{book.shop.phone}"
    language = walkin.language or book.shop.languages[0]
    try:
        return render_quote_pdf(
            made, book, walkin,
            number=number, staff="", url=url, language=language, paper=first_paper(book.shop),
        )  # fmt: skip
    except PaperError as error:
        raise CommandError(str(error)) from error


@main.group()
def book() -> None:
    """Read, try and check price books."""


@book.command()
@click.argument("folder", type=FOLDER)
def check(folder: Path) -> None:
    """Read a book as a reviewer would; every finding names file, row and column."""
    from intake.book.checks.run import check_book

    problems = check_book(load_book(folder))
    for problem in problems:
        click.echo(str(problem))
    if problems:
        raise CommandError(f"{len(problems)} to look at.")
    click.echo("Nothing to mend.")


@book.command("try")
@click.argument("table", type=FILE)
@click.argument("inputs", type=FILE)
def try_(table: Path, inputs: Path) -> None:
    """Try one decision table on the facts of a JSON file."""
    click.echo(json.dumps(try_table(table, _inputs(inputs)), indent=2, ensure_ascii=False))


def _inputs(path: Path) -> dict[str, Any]:
    try:
        given = json.loads(path.read_text("utf-8-sig"), parse_float=Decimal)
    except json.JSONDecodeError as error:
        raise CommandError(
            f"{path}, row {error.lineno}: This is not JSON that can be read: {error.msg}."
        ) from None
    except UnicodeDecodeError:
        raise CommandError(f"{path}: This is not UTF-8 text.") from None
    if not isinstance(given, dict):
        raise CommandError(f"{path}: The inputs are one table, id to value.")
    return given


@book.command()
def sources() -> None:
    """What the maths was checked against: source, value there, value here, deviation; then each reading's."""
    for line in check_lines():
        click.echo(line)
    click.echo()
    for id, spec in sorted(REGISTRY.items()):
        unit = f" [{spec.unit}]" if spec.unit else ""
        click.echo(f"{id}{unit}: {spec.source}")


for command in (load, book_export):
    book.add_command(command)
for command in (serve, customer, staff, backup, restore, doctor, export, service_file):
    main.add_command(command)
