"""`tallyfret serve`, and what it tells whoever starts it."""

from __future__ import annotations

import threading
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import click

from intake.cli.book_revisions import CONFIRM, in_force_told, look_over
from intake.cli.errors import CommandError
from intake.cli.staff import has_owner
from intake.config import PORT, data_folder, demo_book
from intake.web.origin import is_loopback

if TYPE_CHECKING:
    from intake.lan.phones import Trust
    from intake.server.uvicorn_server import Running

LOOPBACK = "127.0.0.1"
EVERYWHERE = ("0.0.0.0", "::")
LOOPBACK_ONLY = "Only this machine can reach it; for the shop's phones, start it with --lan."
PLAIN_HTTP = (
    "This is plain http: no work without a line, and whoever shares the network can read along. "
    "With --lan it is https."
)
NO_OWNER = "The shop has no owner yet: open it in a browser on this machine to make one."
FOLDER = click.Path(path_type=Path)
PORTS = click.IntRange(0, 65535)


@click.command()
@click.option("--book", type=FOLDER, help="Folder of the price book; else the demo shop's.")
@CONFIRM
@click.option("--lan", is_flag=True, help="Serve the shop's phones over https, by its own certificate.")
@click.option("--address", help="With --lan: which of this machine's addresses phones use.")
@click.option("--trust-port", type=PORTS, help="With --lan: where phones get the certificate; else the next.")
@click.option("--new-origin", is_flag=True, help="With --lan: change the address that phones know.")
@click.option("--host", help="Plain http at this address, without offline work; else this machine alone.")
@click.option("--port", type=PORTS, help=f"The port; else the one that phones know, else {PORT}.")
@click.pass_obj
def serve(
    data: Path | None,
    book: Path | None,
    confirm: bool,
    lan: bool,
    address: str | None,
    trust_port: int | None,
    new_origin: bool,
    host: str | None,
    port: int | None,
) -> None:
    """Serve the counter: on this machine, or with --lan to the phones on the shop's network."""
    from intake.server import run as serving

    folder = data_folder(data)
    if lan and host:
        raise CommandError("--host is for plain http; with --lan, --address says which address phones use.")
    if not lan and (address or trust_port or new_origin):
        raise CommandError("--address, --trust-port and --new-origin go with --lan.")
    if lan and 0 in (port, trust_port):
        raise CommandError("Phones have to find the ports again: with --lan, name one above 0.")
    if book:
        look_over(folder, book, confirm)
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
        raise CommandError(str(error)) from error


def _tell(running: Running, folder: Path) -> None:
    at = running.url
    if running.host in EVERYWHERE:
        here = LOOPBACK if running.host == "0.0.0.0" else "[::1]"
        at = f"http://{here}:{running.port}/, and at every other address of this machine,"
    click.echo(f"Tallyfret is at {at} and keeps its data in {folder}.")
    click.echo(LOOPBACK_ONLY if is_loopback(_place(running)) else PLAIN_HTTP)
    _tell_rest(folder)


def _tell_lan(running: Running, trust: Trust, folder: Path) -> None:
    from intake.qr import qr_terminal

    click.echo(f"Tallyfret is at {running.url} and keeps its data in {folder}.")
    if not is_loopback(_place(running)):
        click.echo(f"On this machine it is at http://{LOOPBACK}:{running.port}/ too.")
    click.echo(f"\nA phone that comes for the first time opens {trust.address}")
    with suppress(UnicodeEncodeError):  # a terminal that cannot draw it
        click.echo(qr_terminal(trust.address))
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
    from intake.paper import PangoMissingError, PaperError, press

    try:
        press().warm()
    except PangoMissingError as error:
        click.echo(str(error), err=True)
    except PaperError:
        pass  # stopped meanwhile; else the first document says it
