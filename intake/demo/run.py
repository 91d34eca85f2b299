"""The demo: the real program with the demo shop's book, one walk-in taken down through its own wizard."""

from __future__ import annotations

import json
import threading
import tomllib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from queue import Queue

from flask import Flask

from intake.app import create_app
from intake.book.answers import to_fields
from intake.config import Settings, demo_book
from intake.demo.login import Browser, login_of, signed_in
from intake.i18n.formats import day, money
from intake.operations.data_folder import keeping
from intake.server.listener import ServerError, listen
from intake.server.uvicorn_server import Running, serve
from intake.services.context import Context
from intake.store import quotes
from intake.store.ids import uuid7

SAMPLE = "03-old-flat-top-neck-reset.toml"
DEMO_DATA = "demo-data"
HOST = "127.0.0.1"
PATIENCE = 30


def run(data: Path | None, *, once: bool, port: int) -> None:
    """Take a sample walk-in from the first question to its PDF, say what came of it, then keep serving.

    The data goes into `demo-data` unless another folder is given. `once` stops after the walk-in. A
    port that is taken gives way to any free one.
    """
    folder = data or Path(DEMO_DATA)
    with keeping(folder, "the demo"):
        serve_demo(folder, once, port)


def serve_demo(folder: Path, once: bool, port: int) -> None:
    app = create_app(Settings(data=folder, book=demo_book()))
    with serving(lambda: app, port) as running:
        address = running.url.rstrip("/")
        if port and running.port != port:
            print(f"Port {port} is taken; using {running.port}.")
        desk = app.extensions["context"]
        login = login_of(desk, folder)
        with signed_in(desk, address, login) as phone:
            show_sample(desk, phone, folder)
        if not once:
            print(login.told())
            print(f"The counter is open at {running.url}  (Ctrl+C closes it)", flush=True)
            wait()


def wait() -> None:
    """Until Ctrl+C."""
    threading.Event().wait()


@contextmanager
def serving(make_app: Callable[[], Flask], port: int) -> Iterator[Running]:
    """The real server in a thread, until the block ends or Ctrl+C is pressed."""
    ready: Queue[Running] = Queue()
    thread = threading.Thread(target=serve, args=(make_app, HOST, free_port(port), None, ready.put))
    thread.start()
    running = ready.get(timeout=PATIENCE)
    try:
        yield running
    except KeyboardInterrupt:
        print("Closed.")
    finally:
        running.stop()
        thread.join()


def free_port(port: int) -> int:
    """That port, or 0 for any free one where it is taken."""
    try:
        listen(HOST, port).close()
    except ServerError:
        return 0
    return port


def show_sample(desk: Context, phone: Browser, data: Path) -> None:
    """The sample walk-in up to its PDF, and its sum. A later start finds the one of the first."""
    ticket = next((path.stem.removeprefix("quote-") for path in data.glob("quote-*.pdf")), "")
    frozen = quotes.latest(desk.store.db, ticket)
    if frozen is None:
        ticket = take_sample(desk, phone)
        frozen = quotes.latest(desk.store.db, ticket)
        assert frozen is not None
    pdf = data / f"quote-{ticket}.pdf"
    pdf.write_bytes(phone.get(f"/tickets/{ticket}/quotes/{frozen.revision}.pdf").content)
    report(desk, frozen, pdf)


def take_sample(desk: Context, phone: Browser) -> str:
    """The sample walk-in over HTTP, step by step as a phone sends it, up to the quote: the ticket's id."""
    walkin = tomllib.loads((demo_book() / "walkins" / SAMPLE).read_text("utf-8"))
    ticket = str(uuid7(desk.now()))
    print(f"Walk-in: {walkin['title']}")
    pairs = to_fields(desk.book, walkin["answers"])
    for step in desk.book.steps:
        fields = [pair for pair in pairs if desk.book.questions[pair[0].split(".")[0]].step == step.id]
        passed = "" if fields or step.always else "not_assessed"
        form = [*fields, ("based_on", "0"), ("passed", passed)]
        phone.post(f"/tickets/{ticket}/steps/{step.id}", form)
    phone.post(f"/tickets/{ticket}/quotes")
    return ticket


def report(desk: Context, frozen: quotes.FrozenQuote, pdf: Path) -> None:
    """Print what the quote comes to, as it was frozen."""
    quote = json.loads(frozen.quote)
    offer, locale = quote["offers"]["put_right"], desk.book.shop.locale
    total = money(offer["total"], quote["currency"], locale)
    print(f"Put right: {total}, ready {day(date.fromisoformat(offer['ready']), locale)}")
    print(f"Quote as PDF: {pdf.resolve()}", flush=True)
