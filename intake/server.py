"""The one production server, for http and TLS, on Linux, macOS and Windows: uvicorn in this process.

Measured first: Granian's WSGI side keeps a thread for every body that trickles in (eight slow phones stop
the shop), has no time limit on one, and hands the application a body cut short as if it were whole. waitress
lacks TLS and gunicorn Windows. uvicorn takes requests in without threads; `asgi.Bridge` runs Flask behind it.
A renewed certificate is taken into the running server: new connections use it, nothing stops.
"""

from __future__ import annotations

import argparse
import asyncio
import errno
import logging
import signal
import socket
import ssl
import sys
import threading
from collections.abc import Awaitable, Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

import h11
import uvicorn
from flask import Flask
from uvicorn.protocols.http.h11_impl import H11Protocol
from uvicorn.server import HANDLED_SIGNALS

from intake.asgi import Bridge

log = logging.getLogger(__name__)
THREADS = 8
BACKLOG = 128
MOST_CONNECTIONS = 400
HEADER_PATIENCE = 20
BODY_PATIENCE = 30
FINISHING = 30
UNLIMITED = sys.maxsize
HOURLY = 3600.0


class ServerError(Exception):
    """Why the server cannot start: one sentence for whoever starts it."""


@dataclass(frozen=True)
class TlsFiles:
    """Certificate chain and key, PEM; one file may hold both.

    `renew` is asked at the start and every hour, in a thread, and returns true when it wrote the files anew.
    """

    chain: Path
    key: Path
    renew: Callable[[], bool] = lambda: False


@dataclass(frozen=True)
class Running:
    """Where the server listens. `stop` ends it from any thread, after the requests it is answering."""

    scheme: str
    host: str
    port: int
    stop: Callable[[], None]

    @property
    def url(self) -> str:
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"{self.scheme}://{host}:{self.port}/"


def run_server(
    data: Path,
    book: Path | None,
    host: str,
    port: int,
    tls: TlsFiles | None = None,
    on_ready: Callable[[Running], object] | None = None,
) -> None:
    """Serve the shop until it is told to stop; the demo shop's book where `book` is None.

    Port 0 takes a free one. Raises ServerError before anything starts, and BookError for a faulty book.
    """

    from intake.app import create_app
    from intake.config import Settings, SettingsError
    from intake.operation import logs
    from intake.operation.guard import keeping
    from intake.store.errors import StoreError

    logs.to_stderr()
    settings = Settings(data=data, book=book) if book else Settings(data=data)
    try:
        with keeping(data, f"the server on {host}, port {port}"):
            serve(lambda: create_app(settings), host, port, tls, on_ready)
    except (StoreError, SettingsError) as error:
        raise ServerError(str(error)) from error


def serve(
    make_app: Callable[[], Flask],
    host: str,
    port: int,
    tls: TlsFiles | None = None,
    on_ready: Callable[[Running], object] | None = None,
    check_every: float = HOURLY,
) -> None:
    """Serve what `make_app` makes until SIGTERM, SIGINT or `Running.stop`.

    The address is taken before the application is made. Requests being answered get FINISHING seconds.
    `check_every` is how many seconds pass between questions for a renewed certificate.
    """
    context = tls_context(tls) if tls else None
    with listen(host, port) as listener:
        app = make_app()
        bridge = Bridge(app, THREADS, app.config["MAX_CONTENT_LENGTH"] or UNLIMITED, BODY_PATIENCE)
        server = _Server(_configure(bridge, context, _renewer(tls, context), check_every))
        if on_ready:
            on_ready(Running("https" if tls else "http", host, listener.getsockname()[1], server.ask_to_stop))
        try:
            asyncio.run(server.serve(sockets=[listener]))
        finally:
            bridge.close()


def listen(host: str, port: int) -> socket.socket:
    """A socket that listens there. Raises ServerError, with what can be done about it."""
    listener = None
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)
        family, kind, protocol, _, address = min(found, key=lambda entry: entry[0] != socket.AF_INET)
        # Named as TCP, or asyncio leaves Nagle's delay on and answers wait 40 ms for an acknowledgement.
        listener = socket.socket(family, kind, protocol or socket.IPPROTO_TCP)
        exclusive = getattr(socket, "SO_EXCLUSIVEADDRUSE", None)  # Windows: there, REUSEADDR shares the port
        listener.setsockopt(socket.SOL_SOCKET, exclusive or socket.SO_REUSEADDR, 1)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
        listener.bind(address)
        listener.listen(BACKLOG)
    except OSError as error:
        if listener:
            listener.close()
        raise ServerError(_why_not(error, host, port)) from error
    return listener


def tls_context(tls: TlsFiles) -> ssl.SSLContext:
    """TLS 1.2 and newer with that certificate. Raises ServerError if the files do not serve."""
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    context.set_alpn_protocols(["http/1.1"])
    try:
        context.load_cert_chain(tls.chain, tls.key)
    except OSError as error:
        raise ServerError(
            f"The certificate {tls.chain} with the key {tls.key} cannot be used: {error}."
        ) from error
    return context


def _why_not(error: OSError, host: str, port: int) -> str:
    if error.errno == errno.EADDRINUSE:
        return f"Port {port} is taken by another program; stop it, or choose another with --port."
    if error.errno == errno.EACCES:
        return f"Port {port} may not be used by this user; choose one above 1023 with --port."
    if isinstance(error, socket.gaierror) or error.errno == errno.EADDRNOTAVAIL:
        return f"This machine has no address {host}; choose one of its own with --host."
    return f"Cannot listen on {host}, port {port}: {error.strerror or error}."


def _configure(
    app: Bridge, context: ssl.SSLContext | None, renew: Callable[[], Awaitable[None]], check_every: float
) -> uvicorn.Config:
    """No access log, since addresses of customers' pages hold their keys; no proxy is believed."""
    return uvicorn.Config(
        cast(Any, app),
        http=_Protocol,
        ws="none",
        lifespan="off",
        interface="asgi3",
        log_config=None,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        limit_concurrency=MOST_CONNECTIONS,
        backlog=BACKLOG,
        timeout_graceful_shutdown=FINISHING,
        ssl_context_factory=(lambda _config, _default: context) if context else None,
        callback_notify=renew,
        timeout_notify=cast(int, check_every),
    )


def _renewer(tls: TlsFiles | None, context: ssl.SSLContext | None) -> Callable[[], Awaitable[None]]:
    """Take a renewed certificate into the running server; without one, the old goes on serving."""

    async def renew() -> None:
        if not (tls and context):
            return
        try:
            if await asyncio.to_thread(tls.renew):
                context.load_cert_chain(tls.chain, tls.key)
        except Exception:
            log.exception("The certificate could not be renewed; the old one is still in use.")

    return renew


class _Server(uvicorn.Server):
    """uvicorn, without raising a signal again after its stop: our own clean-up is still to come."""

    def ask_to_stop(self) -> None:
        self.should_exit = True

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        if threading.current_thread() is not threading.main_thread():
            yield
            return
        before = {number: signal.signal(number, self.handle_exit) for number in HANDLED_SIGNALS}
        try:
            yield
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)


class _Protocol(H11Protocol):
    """uvicorn's HTTP/1.1, which has no limit on how long a client may take over its headers."""

    _waiting: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._watch_headers()

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        self._watch_headers()

    def connection_lost(self, exc: Exception | None) -> None:
        self._forget()
        super().connection_lost(exc)

    def _watch_headers(self) -> None:
        if self.conn.their_state is not h11.IDLE:
            self._forget()
        elif self._waiting is None:
            self._waiting = self.loop.call_later(HEADER_PATIENCE, self.transport.close)

    def _forget(self) -> None:
        if self._waiting:
            self._waiting.cancel()
        self._waiting = None


def main() -> None:
    """`python -m intake.server`: what the tests, the benchmark and service managers start."""
    parser = argparse.ArgumentParser(prog="python -m intake.server", description="Serve the counter.")
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--book", type=Path)
    parser.add_argument("--host", default="127.0.0.1")
    parser.add_argument("--port", type=int, default=8642)
    parser.add_argument("--certificate", type=Path, help="PEM; with it, the server speaks TLS")
    parser.add_argument("--key", type=Path, help="PEM; else the certificate's file holds it too")
    given = parser.parse_args()
    tls = TlsFiles(given.certificate, given.key or given.certificate) if given.certificate else None
    try:
        run_server(given.data, given.book, given.host, given.port, tls, lambda at: print(at.url, flush=True))
    except ServerError as error:
        sys.exit(str(error))


if __name__ == "__main__":
    main()
