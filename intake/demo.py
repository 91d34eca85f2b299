"""The demo: the real program with the demo shop's book, one walk-in taken down through its own wizard."""

from __future__ import annotations

import errno
import json
import os
import socket
import threading
import tomllib
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from urllib.error import HTTPError
from urllib.parse import urlencode
from urllib.request import Request, urlopen
from uuid import uuid4

from waitress.server import BaseWSGIServer, create_server

from intake.app import LARGEST_REQUEST, create_app
from intake.book.answers import to_fields
from intake.config import Settings, demo_book
from intake.counter.desk import Desk
from intake.counter.ids import uuid7
from intake.counter.words import day, money
from intake.store import quotes

SAMPLE = "03-old-flat-top-neck-reset.toml"
DEMO_DATA = "demo-data"
HOST = "127.0.0.1"
PORTS_TRIED = 50


def run(data: Path | None, *, once: bool, port: int) -> None:
    """Take a sample walk-in from the first question to its PDF, say what came of it, then keep serving.

    The data goes into `demo-data` unless another folder is given. `once` stops after the walk-in. A
    port that is taken gives way to the next free one.
    """
    folder = data or Path(DEMO_DATA)
    app = create_app(Settings(data=folder, book=demo_book()))
    bound = free_socket(port)
    found = bound.getsockname()[1]
    server = create_server(
        app, sockets=[bound], threads=8, ident="tallyfret", max_request_body_size=LARGEST_REQUEST
    )
    if port and found != port:
        print(f"Port {port} is taken; using {found}.")
    serving = threading.Thread(target=server.run, daemon=True)
    serving.start()
    address = f"http://{HOST}:{found}"
    try:
        take_sample(app.extensions["desk"], address, folder)
        if not once:
            print(f"The counter is open at {address}/  (Ctrl+C closes it)", flush=True)
            serving.join()
    except KeyboardInterrupt:
        print("Closed.")
    finally:
        close(server)
        serving.join(2)


def close(server: BaseWSGIServer) -> None:
    """Finish what is being answered, then close the sockets in the thread that polls them."""
    server.task_dispatcher.shutdown()
    server.trigger.pull_trigger(server.close)


def free_socket(port: int) -> socket.socket:
    """A bound socket on the first free port from `port` on. Raises OSError if there is none near."""
    for candidate in range(port, port + PORTS_TRIED):
        bound = socket.socket()
        if os.name == "posix":  # elsewhere it would share a port that is taken
            bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            bound.bind((HOST, candidate))
            bound.listen()
            return bound
        except OSError as error:
            bound.close()
            if error.errno not in (errno.EADDRINUSE, errno.EACCES):
                raise
    raise OSError(errno.EADDRINUSE, f"no free port from {port} to {port + PORTS_TRIED - 1}")


def take_sample(desk: Desk, address: str, data: Path) -> None:
    """The sample walk-in over HTTP, step by step as a phone sends it, up to the PDF; then its sum."""
    walkin = tomllib.loads((demo_book() / "walkins" / SAMPLE).read_text("utf-8"))
    ticket = str(uuid7(desk.now()))
    print(f"Walk-in: {walkin['title']}")
    pairs = to_fields(desk.book, walkin["answers"])
    for step in desk.book.steps:
        fields = [pair for pair in pairs if desk.book.questions[pair[0].split(".")[0]].step == step.id]
        passed = "" if fields or step.always else "not_assessed"
        form = [*fields, ("based_on", "0"), ("passed", passed)]
        post(f"{address}/tickets/{ticket}/steps/{step.id}", form)
    quote_page = post(f"{address}/tickets/{ticket}/quotes", ())
    with urlopen(f"{quote_page}.pdf") as answer:
        pdf = data / f"quote-{ticket}.pdf"
        pdf.write_bytes(answer.read())
    report(desk, ticket, pdf)


def post(url: str, form: Iterable[tuple[str, str]]) -> str:
    """Send a form under a key of its own; the address where it led. Raises RuntimeError if refused."""
    request = Request(
        url, urlencode(list(form)).encode(), {"Idempotency-Key": str(uuid4()), "Device": "demo"}
    )
    try:
        with urlopen(request) as answer:
            return str(answer.url)
    except HTTPError as error:
        raise RuntimeError(f"{url} answered {error.code}: {error.read().decode()[:300]}") from error


def report(desk: Desk, ticket: str, pdf: Path) -> None:
    """Print what the quote comes to, as it was frozen."""
    frozen = quotes.latest(desk.store.db, ticket)
    assert frozen is not None
    quote = json.loads(frozen.quote)
    offer, locale = quote["offers"]["put_right"], desk.book.shop.locale
    total = money(offer["total"], quote["currency"], locale)
    print(f"Put right: {total}, ready {day(date.fromisoformat(offer['ready']), locale)}")
    print(f"Quote as PDF: {pdf.resolve()}", flush=True)
