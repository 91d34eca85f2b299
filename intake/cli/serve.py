"""`tallyfret serve`, and what it tells whoever starts it."""

from __future__ import annotations

import threading
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import click

from intake.cli.book_revisions import CONFIRM, in_force_told, look_over
from intake.cli.errors import CommandError
from intake.cli.staff import has_owner
from intake.config import PORT, data_folder, demo_book
from intake.store.tokens import new_code
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
NO_OWNER = "The shop has no owner yet: whoever opens this link on this machine becomes the owner.\n  {link}"
NO_OWNER_BY_COMMAND = "The shop has no owner yet: “tallyfret staff owner” makes one."
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
    code = new_code()
    try:
        if lan:
            wish = serving.Wish(address, port, trust_port, new_origin, code)
            serving.run_lan(
                folder, book or demo_book(), wish, lambda at, trust: _tell_lan(at, trust, folder, code)
            )
        else:
            serving.run_server(
                folder,
                book or demo_book(),
                host or LOOPBACK,
                PORT if port is None else port,
                on_ready=lambda at: _tell(at, folder, code),
                setup_code=code,
            )
    except serving.ServerError as error:
        raise CommandError(str(error)) from error


def _tell(running: Running, folder: Path, code: str) -> None:
    at = here = running.url
    if running.host in EVERYWHERE:
        here = f"http://{LOOPBACK if running.host == '0.0.0.0' else '[::1]'}:{running.port}/"
        at = f"{here}, and at every other address of this machine,"
    click.echo(f"Tallyfret is at {at} and keeps its data in {folder}.")
    click.echo(LOOPBACK_ONLY if is_loopback(urlsplit(running.url).netloc) else PLAIN_HTTP)
    _tell_rest(folder, here, code)


def _tell_lan(running: Running, trust: Trust, folder: Path, code: str) -> None:
    from intake.qr import qr_terminal

    here = running.url
    click.echo(f"Tallyfret is at {here} and keeps its data in {folder}.")
    if not is_loopback(urlsplit(running.url).netloc):
        here = f"http://{LOOPBACK}:{running.port}/"
        click.echo(f"On this machine it is at {here} too.")
    click.echo(f"\nA phone that comes for the first time opens {trust.address}")
    with suppress(UnicodeEncodeError):  # a terminal that cannot draw it
        click.echo(qr_terminal(trust.address))
    click.echo("It then trusts the certificate with this SHA-256 fingerprint, and no other:")
    for at in (0, 8):
        click.echo("  " + " ".join(trust.fingerprint[at : at + 8]))
    click.echo()
    _tell_rest(folder, here, code)


def _tell_rest(folder: Path, here: str, code: str) -> None:
    """What follows the addresses; `here` is the one for a browser on this machine."""
    if not has_owner(folder):
        near = is_loopback(urlsplit(here).netloc)
        click.echo(NO_OWNER.format(link=f"{here}setup?code={code}") if near else NO_OWNER_BY_COMMAND)
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
