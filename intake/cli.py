"""The command line. Errors go to standard error with exit code 2, naming file and place."""

from __future__ import annotations

import json
import os
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from decimal import Decimal
from functools import wraps
from graphlib import CycleError
from pathlib import Path
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

import click

from intake.book.load import load_book
from intake.book.model import Book
from intake.book.problems import BookError
from intake.book.tables import TableError
from intake.book.trial import try_table
from intake.config import DATA_VARIABLE, SettingsError, data_folder, demo_book
from intake.counter.commands import has_owner, staff
from intake.counter.local import is_loopback
from intake.counter.owner.commands import export as book_export
from intake.counter.owner.commands import in_force_told, load
from intake.customer.commands import customer
from intake.lan.errors import LanError
from intake.operation.commands import backup, doctor, export, restore
from intake.operation.deploying import service_file
from intake.quoting.calendar import NeverOpen
from intake.quoting.model import Quote, Walkin
from intake.quoting.quote import make_quote
from intake.quoting.to_json import quote_json
from intake.quoting.to_text import quote_text
from intake.quoting.walkin import WalkinError, load_walkin, problem_at
from intake.store.errors import StoreError
from intake.trade.checks import check_lines
from intake.trade.registry import REGISTRY
from intake.trade.units import MeasureError

if TYPE_CHECKING:
    from intake.lan.phones import Trust
    from intake.server import Running

P = ParamSpec("P")
T = TypeVar("T")
PORT = 8642
LOOPBACK = "127.0.0.1"
LOOPBACK_ONLY = "Only this machine can reach it; for the shop's phones, start it with --lan."
PLAIN_HTTP = (
    "This is plain http: no work without a line, and whoever shares the network can read along. "
    "With --lan it is https."
)
NO_OWNER = "The shop has no owner yet: open it in a browser on this machine to make one."
EXPECTED = (
    BookError,
    TableError,
    WalkinError,
    MeasureError,
    NeverOpen,
    CycleError,
    SettingsError,
    StoreError,
    LanError,
    OSError,
)
FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
FOLDER = click.Path(path_type=Path)
PORTS = click.IntRange(0, 65535)


class Fault(click.ClickException):
    """What the person at the keyboard can mend."""

    exit_code = 2

    def show(self, file: Any = None) -> None:
        click.echo(self.message, file=file or sys.stderr)


def mending(command: Callable[P, T]) -> Callable[P, T]:
    """Turn the errors that a person can mend into sentences."""

    @wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> T:
        try:
            return command(*args, **kwargs)
        except EXPECTED as error:
            raise Fault(_sentence(error)) from error

    return run


def _sentence(error: BaseException) -> str:
    if isinstance(error, OSError) and error.strerror:
        return f"{error.filename}: {error.strerror}." if error.filename else f"{error.strerror}."
    if isinstance(error, CycleError):
        return f"jobs.csv, after: these jobs wait for each other in a circle: {' → '.join(error.args[1])}."
    return str(error)


@click.group()
@click.version_option(package_name="tallyfret")
@click.option(
    "--data",
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
@click.option("--book", type=FOLDER, help="Folder of the price book; else the demo shop's.")
@click.option("--lan", is_flag=True, help="Serve the shop's phones over https, by its own certificate.")
@click.option("--address", help="With --lan: which of this machine's addresses phones use.")
@click.option("--trust-port", type=PORTS, help="With --lan: where phones get the certificate; else the next.")
@click.option("--new-origin", is_flag=True, help="With --lan: change the address that phones know.")
@click.option("--host", help="Plain http at this address, without offline work; else this machine alone.")
@click.option("--port", type=PORTS, help=f"The port; else the one that phones know, else {PORT}.")
@click.pass_obj
@mending
def serve(
    data: Path | None,
    book: Path | None,
    lan: bool,
    address: str | None,
    trust_port: int | None,
    new_origin: bool,
    host: str | None,
    port: int | None,
) -> None:
    """Serve the counter: on this machine, or with --lan to the phones on the shop's network."""
    from intake import serving

    folder = data_folder(data)
    if lan and host:
        raise Fault("--host is for plain http; with --lan, --address says which address phones use.")
    if not lan and (address or trust_port or new_origin):
        raise Fault("--address, --trust-port and --new-origin go with --lan.")
    if lan and 0 in (port, trust_port):
        raise Fault("Phones have to find the ports again: with --lan, name one above 0.")
    try:
        if lan:
            wish = serving.Wish(address, port, trust_port, new_origin)
            serving.run_lan(folder, book or demo_book(), wish, lambda at, trust: _tell_lan(at, trust, folder))
        else:
            at_port = PORT if port is None else port
            serving.run_server(
                folder, book or demo_book(), host or LOOPBACK, at_port, on_ready=lambda at: _tell(at, folder)
            )
    except serving.ServerError as error:
        raise Fault(str(error)) from error


def _tell(running: Running, folder: Path) -> None:
    click.echo(f"Tallyfret is at {running.url} and keeps its data in {folder}.")
    click.echo(LOOPBACK_ONLY if is_loopback(_place(running)) else PLAIN_HTTP)
    _tell_rest(folder)


def _tell_lan(running: Running, trust: Trust, folder: Path) -> None:
    from intake.lan.qr import terminal_qr

    click.echo(f"Tallyfret is at {running.url} and keeps its data in {folder}.")
    if not is_loopback(_place(running)):
        click.echo(f"On this machine it is at http://{LOOPBACK}:{running.port}/ too.")
    click.echo(f"\nA phone that comes for the first time opens {trust.address}")
    with suppress(UnicodeEncodeError):  # a terminal that cannot draw it
        click.echo(terminal_qr(trust.address))
    click.echo("It then trusts the certificate with this SHA-256 fingerprint, and no other:")
    for at in (0, 8):
        click.echo("  " + " ".join(trust.fingerprint[at : at + 8]))
    click.echo()
    _tell_rest(folder)


def _place(running: Running) -> str:
    """Host and port, as an address has them."""
    return running.url.split("/")[2]


def _tell_rest(folder: Path) -> None:
    if not has_owner(folder):
        click.echo(NO_OWNER)
    if told := in_force_told(folder):
        click.echo(told)
    click.echo("Ctrl+C stops it.")
    threading.Thread(target=_warm_press, daemon=True).start()


def _warm_press() -> None:
    """Have the first document quick, and say now rather than in front of a customer if there can be none."""
    from intake.paper import PangoMissing, PaperError, press

    try:
        press().warm()
    except PangoMissing as error:
        click.echo(str(error), err=True)
    except PaperError:
        pass  # stopped meanwhile; else the first document says it


@main.command()
@click.option("--once", is_flag=True, help="Take the sample walk-in to a PDF and stop.")
@click.option("--port", default=PORT, show_default=True, type=click.IntRange(0, 65535))
@click.pass_obj
@mending
def demo(data: Path | None, once: bool, port: int) -> None:
    """Show the demo shop: a sample walk-in to a PDF, then the counter."""
    from intake.demo import run

    run(data, once=once, port=port)


@main.command()
@click.argument("walkin", type=FILE)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, the contract for tools.")
@click.option("--pdf", type=click.Path(dir_okay=False, path_type=Path), help="Write the quote as a PDF too.")
@click.option("--book", type=FOLDER, help="Folder of the price book; else the demo shop's.")
@click.option("--today", type=click.DateTime(["%Y-%m-%d"]), help="Quote as on this day; else today.")
@mending
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

    url = f"mailto:{book.shop.email}" if book.shop.email else f"tel:{book.shop.phone}"
    language = walkin.language or book.shop.languages[0]
    try:
        return render_quote_pdf(made, book, walkin, number=number, staff="", url=url, language=language)
    except PaperError as error:
        raise Fault(str(error)) from error


@main.group()
def book() -> None:
    """Read, try and check price books."""


@book.command()
@click.argument("folder", type=FOLDER)
@mending
def check(folder: Path) -> None:
    """Read a book as a reviewer would; every finding names file, row and column."""
    from intake.book.check import check_book

    problems = check_book(load_book(folder))
    for problem in problems:
        click.echo(str(problem))
    if problems:
        raise Fault(f"{len(problems)} to look at.")
    click.echo("Nothing to mend.")


@book.command("try")
@click.argument("table", type=FILE)
@click.argument("inputs", type=FILE)
@mending
def try_(table: Path, inputs: Path) -> None:
    """Try one decision table on the facts of a JSON file."""
    click.echo(json.dumps(try_table(table, _inputs(inputs)), indent=2, ensure_ascii=False))


def _inputs(path: Path) -> dict[str, Any]:
    try:
        given = json.loads(path.read_text("utf-8-sig"), parse_float=Decimal)
    except json.JSONDecodeError as error:
        raise Fault(f"{path}, row {error.lineno}: This is not JSON that can be read: {error.msg}.") from None
    except UnicodeDecodeError:
        raise Fault(f"{path}: This is not UTF-8 text.") from None
    if not isinstance(given, dict):
        raise Fault(f"{path}: The inputs are one table, id to value.")
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
    assert command.callback
    command.callback = mending(command.callback)
    book.add_command(command)
for command in (customer, staff, backup, restore, doctor, export, service_file):
    main.add_command(command)
