"""The one production server, for http and TLS, on Linux, macOS and Windows: uvicorn in this process.

Measured first: Granian's WSGI side keeps a thread for every body that trickles in (eight slow phones stop
the shop), has no time limit on one, and hands the application a body cut short as if it were whole. waitress
lacks TLS and gunicorn Windows. uvicorn takes requests in without threads; `asgi.Bridge` runs Flask behind it.
A renewed certificate is taken into the running server: new connections use it, nothing stops.
"""

from __future__ import annotations

import asyncio
import logging
import signal
import socket
import ssl
import sys
import threading
from collections.abc import Awaitable, Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from types import FrameType
from typing import Any, cast
from wsgiref.types import WSGIApplication

import uvicorn
from flask import Flask
from uvicorn.server import HANDLED_SIGNALS

from intake.server.asgi import BodyRules, Bridge
from intake.server.connections import Connections
from intake.server.listener import BACKLOG, Arrivals, ServerError, listen
from intake.server.protocol import LimitedProtocol
from intake.server.request_head import LONGEST_HEAD
from intake.web.origin import network_of

log = logging.getLogger(__name__)
THREADS = 22
"""More than photos, documents and passwords together may occupy (bounded_work), so that a save finds one."""
FEW_THREADS = 2
MOST_CONNECTIONS = 400
REFUSED_BEYOND = 500
OPEN_FILES = 4096
BODY_PATIENCE = 30
HANDSHAKE_PATIENCE = 10
UNLIMITED = sys.maxsize
FINISHING = 30
HOURLY = 3600.0


@dataclass(frozen=True)
class TlsFiles:
    """Certificate chain and key, PEM; one file may hold both.

    `renew` is asked at the start and every hour, in a thread, and returns true when it wrote the files anew.
    """

    chain: Path
    key: Path
    renew: Callable[[], bool] = lambda: False


@dataclass(frozen=True)
class Beside:
    """A listener for plain http beside the main one: the application, or what `wrap` leaves of it."""

    host: str
    port: int
    wrap: Callable[[Flask], WSGIApplication] | None = None


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


def serve(
    make_app: Callable[[], Flask],
    host: str,
    port: int,
    tls: TlsFiles | None = None,
    on_ready: Callable[[Running], object] | None = None,
    check_every: float = HOURLY,
    beside: Sequence[Beside] = (),
    is_proxy: Callable[[str], bool] = lambda _: False,
) -> None:
    """Serve what `make_app` makes until SIGTERM, SIGINT or `Running.stop`.

    The addresses are taken before the application is made. Requests being answered get FINISHING seconds.
    `check_every` is how many seconds pass between questions for a renewed certificate. `is_proxy` names the
    addresses of the shop's own reverse proxy, which may hold any number of connections.
    """
    context = tls_context(tls) if tls else None
    _allow_open_files()
    with ExitStack() as held:
        listeners = [held.enter_context(listen(host, port))]
        listeners += [held.enter_context(listen(one.host, one.port)) for one in beside]
        arrivals = Arrivals(lambda address: "" if is_proxy(address) else network_of(address))
        for listener in listeners:
            listener.arrivals = arrivals
        app = make_app()
        wanted = app.extensions.get("body_wanted", lambda _: True)
        bridge = Bridge(app, THREADS, BodyRules(_largest(app), BODY_PATIENCE, is_wanted=wanted))
        held.callback(bridge.close)
        protocol = partial(LimitedProtocol, Connections(MOST_CONNECTIONS), arrivals, is_proxy)
        servers = [_Server(_configure(bridge, protocol, context, _renewer(tls, context), check_every))]
        servers += [_Server(_configure(_shown(one, app, bridge, held), protocol)) for one in beside]
        if on_ready:
            at = listeners[0].getsockname()[1]
            on_ready(Running("https" if tls else "http", host, at, lambda: _ask_to_stop(servers)))
        with _signals_to(servers):
            asyncio.run(_run(servers, listeners))


def _largest(app: Flask) -> Callable[[dict[str, Any]], int]:
    """How much a request may weigh, by its headers: as the application says, else what it takes at most."""
    rule: Callable[[dict[str, Any]], int] | None = app.extensions.get("body_limit")
    return rule or (lambda _: app.config["MAX_CONTENT_LENGTH"] or UNLIMITED)


def _shown(one: Beside, app: Flask, bridge: Bridge, held: ExitStack) -> Bridge:
    """The application itself, or the part of it that this listener shows, with few threads of its own."""
    if one.wrap is None:
        return bridge
    small = Bridge(one.wrap(app), FEW_THREADS, BodyRules(lambda _: 0, BODY_PATIENCE))
    held.callback(small.close)
    return small


def _allow_open_files() -> None:
    """Every connection is an open file, and many systems allow 1,024 or 256 unless asked for more."""
    with suppress(ImportError, ValueError, OSError):
        import resource

        soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
        most = OPEN_FILES if hard == resource.RLIM_INFINITY else min(OPEN_FILES, hard)
        if soft != resource.RLIM_INFINITY and soft < most:
            resource.setrlimit(resource.RLIMIT_NOFILE, (most, hard))


async def _run(servers: Sequence[_Server], listeners: Sequence[socket.socket]) -> None:
    _hurry_handshakes(asyncio.get_running_loop())
    await asyncio.gather(*(server.serve(sockets=[at]) for server, at in zip(servers, listeners, strict=True)))


def _hurry_handshakes(loop: asyncio.AbstractEventLoop) -> None:
    """A client has HANDSHAKE_PATIENCE seconds for its TLS handshake: uvicorn says nothing of it and asyncio
    gives a minute, during which no protocol knows of the connection."""
    create: Any = loop.create_server

    def hurried(*given: Any, **more: Any) -> Any:
        return create(*given, **more, ssl_handshake_timeout=HANDSHAKE_PATIENCE if more.get("ssl") else None)

    setattr(loop, "create_server", hurried)  # noqa: B010, mypy takes it for a method


def _ask_to_stop(servers: Sequence[_Server]) -> None:
    for server in servers:
        server.should_exit = True


@contextmanager
def _signals_to(servers: Sequence[_Server]) -> Iterator[None]:
    """Let SIGTERM and SIGINT stop them all. Nothing is raised again: our own clean-up is to come."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    def pass_on(number: int, frame: FrameType | None) -> None:
        for server in servers:
            server.handle_exit(number, frame)

    before = {number: signal.signal(number, pass_on) for number in HANDLED_SIGNALS}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


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


def _configure(
    app: Bridge,
    protocol: Callable[..., LimitedProtocol],
    context: ssl.SSLContext | None = None,
    renew: Callable[[], Awaitable[None]] | None = None,
    check_every: float = HOURLY,
) -> uvicorn.Config:
    """No access log, since addresses of customers' pages hold their keys; it believes no proxy."""
    return uvicorn.Config(
        cast(Any, app),
        http=cast(Any, protocol),
        ws="none",
        lifespan="off",
        interface="asgi3",
        log_config=None,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        limit_concurrency=REFUSED_BEYOND,
        backlog=BACKLOG,
        h11_max_incomplete_event_size=LONGEST_HEAD,
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
    """uvicorn, which leaves signals to whoever runs several of it."""

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield
