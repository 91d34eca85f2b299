"""The shop on the server: on this machine alone, as plain http, or on the shop's network over https."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from ipaddress import IPv4Address
from pathlib import Path
from typing import Any
from wsgiref.types import StartResponse, WSGIApplication

from flask import Flask
from werkzeug.middleware.proxy_fix import ProxyFix

from intake.app import create_app
from intake.config import (
    PORT,
    SETTINGS_FILE,
    ServerSettings,
    Settings,
    SettingsError,
    server_settings,
    utc_now,
)
from intake.lan.address import choose_address, lan_addresses, own_address
from intake.lan.authority import authority_folder
from intake.lan.door import TRUST, Door
from intake.lan.errors import AddressError
from intake.lan.origin import Origin, read_origin
from intake.lan.phones import Trust
from intake.lan.prepare import Prepared, prepare
from intake.operations import logs
from intake.operations.data_folder import keeping
from intake.server.listener import ServerError, listen
from intake.server.uvicorn_server import Beside, Running, TlsFiles, serve
from intake.services.context import Context
from intake.store import events
from intake.store.errors import StoreError
from intake.store.events import By

LOOPBACK = "127.0.0.1"
TWO_ORIGINS = (
    "{file} names the address that a reverse proxy gives phones ([server] origin); take it out to serve "
    "with --lan, or leave --lan away."
)
HERE = By(device="command line")
Ready = Callable[[Running], object]


@dataclass(frozen=True)
class Wish:
    """What was asked for; None is the address and port that phones know, else the usual. `setup_code` is what
    whoever makes the owner has to show; without one, a code that nobody is told."""

    address: str | None = None
    port: int | None = None
    trust_port: int | None = None
    new_origin: bool = False
    setup_code: str | None = None


def run_server(
    data: Path,
    book: Path | None,
    host: str,
    port: int,
    tls: TlsFiles | None = None,
    on_ready: Ready | None = None,
    setup_code: str | None = None,
) -> None:
    """Serve the shop at that address until told to stop; the demo shop's book where `book` is None.

    Port 0 takes a free one. `setup_code` is as in Wish. Raises ServerError before anything starts, and
    BookError for a faulty book.
    """
    logs.to_stderr()
    try:
        with keeping(data, f"the server on {host}, port {port}"):
            fixed = server_settings(data)
            app = partial(shop_app, data, book, fixed, setup_code)
            serve(app, host, port, tls, on_ready, is_proxy=fixed.is_proxy)
    except (StoreError, SettingsError) as error:
        raise ServerError(str(error)) from error


def run_lan(
    data: Path,
    book: Path | None,
    wish: Wish,
    on_ready: Callable[[Running, Trust], object],
    now: Callable[[], datetime] = utc_now,
) -> None:
    """Serve the shop's network over https, with the certificate of the shop's own authority.

    Beside it stand the door for phones that do not trust it yet and, for the shop's own computer, plain http
    on loopback. Raises ServerError, LanError, and BookError for a faulty book.
    """
    logs.to_stderr()
    known = read_origin(authority_folder(data))
    address, port = where(wish, known)
    trust_port = port + 1 if wish.trust_port is None else wish.trust_port
    beside = companions(address, port, trust_port)
    try:
        with keeping(data, f"the server on {address}, port {port}"):
            fixed = server_settings(data)
            if fixed.origin:
                raise ServerError(TWO_ORIGINS.format(file=data / SETTINGS_FILE))
            refuse_taken([Beside(str(address), port), *beside])
            app = shop_app(data, book, fixed, wish.setup_code)
            desk: Context = app.extensions["context"]
            ready = prepare(data, desk.book.shop.name, address, port, now(), wish.new_origin)
            note_change(desk, ready, known)
            trust = Trust(ready.authority.root.certificate, f"http://{address}:{trust_port}{TRUST}")
            app.config.update(ORIGIN=str(ready.origin), TRUST=trust)
            pem = ready.authority.server_file
            tls = TlsFiles(pem, pem, ready.renewer(now))
            serve(
                lambda: app,
                str(address),
                port,
                tls,
                lambda at: on_ready(at, trust),
                beside=beside,
                is_proxy=fixed.is_proxy,
            )
    except (StoreError, SettingsError) as error:
        raise ServerError(str(error)) from error


def where(wish: Wish, known: Origin | None) -> tuple[IPv4Address, int]:
    """Address and port: as wished, else what phones know while this machine has it. Raises LanError."""
    address = choose_address(wish.address or _still_ours(known), lan_addresses())
    return address, wish.port or (known.port if known else PORT)


def _still_ours(known: Origin | None) -> str | None:
    try:
        return str(own_address(known.host)) if known else None
    except AddressError:
        return None


def companions(address: IPv4Address, port: int, trust_port: int) -> list[Beside]:
    """The door, and plain http on loopback, where this machine's browser needs no certificate."""
    origin = str(Origin(str(address), port))
    door = Beside(str(address), trust_port, lambda app: Door(app, origin))
    return [door] if str(address) == LOOPBACK else [door, Beside(LOOPBACK, port)]


def refuse_taken(wanted: Iterable[Beside]) -> None:
    """Raise ServerError for a port that is taken, before an address is fixed that would never be served."""
    with ExitStack() as held:
        for one in wanted:
            held.enter_context(listen(one.host, one.port))


def note_change(desk: Context, ready: Prepared, known: Origin | None) -> None:
    """Write down that the address that phones know was fixed or changed, and whether they trust it."""
    if ready.origin == known and not ready.root_is_new:
        return
    detail: dict[str, Any] = {
        "origin": str(ready.origin),
        "before": str(known or ""),
        "new_authority": ready.root_is_new,
    }
    with desk.store.writing() as db:
        events.record(db, "shop’s address fixed", desk.now(), by=HERE, **detail)


def shop_app(data: Path, book: Path | None, fixed: ServerSettings, setup_code: str | None = None) -> Flask:
    """The application as those settings want it."""
    app = create_app(Settings(data=data, book=book) if book else Settings(data=data))
    app.config["ORIGIN"] = fixed.origin
    if setup_code:
        app.config["SETUP_CODE"] = setup_code
    if fixed.proxies:
        setattr(app, "wsgi_app", Proxied(app.wsgi_app, fixed))  # noqa: B010, mypy takes it for a method
    return app


class Proxied:
    """WSGI: what a reverse proxy says of the client's address, scheme and host (X-Forwarded-For, -Proto and
    -Host) is believed only where the shop's own proxy asks. That one says for whom: what comes from its
    address without X-Forwarded-For was asked there, such as by a browser on this machine."""

    def __init__(self, app: WSGIApplication, fixed: ServerSettings) -> None:
        count = fixed.proxies
        self._app, self._fixed = app, fixed
        self._told = ProxyFix(app, x_for=count, x_proto=count, x_host=count)

    def __call__(self, environ: dict[str, Any], start: StartResponse) -> Iterable[bytes]:
        by_proxy = "HTTP_X_FORWARDED_FOR" in environ and self._fixed.is_proxy(environ["REMOTE_ADDR"])
        return (self._told if by_proxy else self._app)(environ, start)


def main() -> None:
    """`python -m intake.server.uvicorn_server`: what the tests and the benchmark start."""
    parser = argparse.ArgumentParser(prog="python -m intake.server", description="Serve the counter.")
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--book", type=Path)
    parser.add_argument("--host", default=LOOPBACK)
    parser.add_argument("--port", type=int, default=PORT)
    parser.add_argument("--certificate", type=Path, help="PEM; with it, the server speaks TLS")
    parser.add_argument("--key", type=Path, help="PEM; else the certificate's file holds it too")
    given = parser.parse_args()
    tls = TlsFiles(given.certificate, given.key or given.certificate) if given.certificate else None
    try:
        run_server(given.data, given.book, given.host, given.port, tls, lambda at: print(at.url, flush=True))
    except ServerError as error:
        sys.exit(str(error))
