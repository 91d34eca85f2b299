"""`tallyfret quote`: one walk-in file to a quote."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import click

from intake.book.files.load import load_book
from intake.book.model import Book
from intake.cli.errors import CommandError
from intake.config import demo_book
from intake.quoting.model import Quote, Walkin
from intake.quoting.quote import make_quote
from intake.quoting.to_json import quote_json
from intake.quoting.to_text import quote_text
from intake.quoting.walkin import WalkinError, load_walkin, problems_at

FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
FOLDER = click.Path(path_type=Path)


@click.command()
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
    if made.assessment.problems:
        raise WalkinError(problems_at(path, made.assessment.problems))


def _printed(made: Quote, book: Book, walkin: Walkin, number: str) -> bytes:
    """The PDF. A quote without a ticket has no address; its code is that of the shop's mailbox."""
    from intake.paper import DocumentOptions, PaperError, render_quote_pdf
    from intake.services.documents import first_paper

    url = f"mailto:{book.shop.email}" if book.shop.email else f"tel:{book.shop.phone}"
    language = walkin.language or book.shop.languages[0]
    try:
        options = DocumentOptions(number, url, paper=first_paper(book.shop), language=language)
        return render_quote_pdf(made, book, walkin, options)
    except PaperError as error:
        raise CommandError(str(error)) from error
