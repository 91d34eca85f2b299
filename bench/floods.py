"""Four floods for `load.py --floods`, each in a process of its own: sockets that never ask, uploads of
strangers, eight requests for one document, photos that are much work to decode.

Strangers come from 127.0.0.9, an address of their own on Linux; the last two have a phone's cookie, and the
photos come from another phone's address, 127.0.0.8, over lines that stay open, as a browser's do.
"""

from __future__ import annotations

import io
import multiprocessing
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from uuid import uuid4

from PIL import Image

HOST, STRANGER, OTHER_PHONE = "127.0.0.1", "127.0.0.9", "127.0.0.8"
SOCKETS, UPLOADS, DOCUMENTS, PHOTOS = 420, 40, 8, 3
SCANS = 100
MEGABYTES = 20


@dataclass(frozen=True)
class Target:
    """The shop: its port, a phone's cookie, a ticket with a quote, and where its documents lie."""

    port: int
    cookie: str
    ticket: str
    quotes: Path


def idle_sockets(target: Target) -> None:
    """So many connections without a request; one that is closed is opened again."""
    held: list[socket.socket] = []
    while True:
        while len(held) < SOCKETS:
            with suppress(OSError):
                held.append(socket.create_connection((HOST, target.port), 5, (STRANGER, 0)))
        time.sleep(0.2)
        held = [line for line in held if _is_open(line)]


def _is_open(line: socket.socket) -> bool:
    line.setblocking(False)
    try:
        closed = line.recv(1) == b""
    except BlockingIOError:
        return True
    except OSError:
        closed = True
    if closed:
        line.close()
    return not closed


def uploads(target: Target) -> None:
    """Twenty megabytes each, again and again, as far as the server takes them."""
    _at_once(UPLOADS, lambda: _upload(target))


def _upload(target: Target) -> None:
    head = f"POST /tickets/{uuid4()}/photos HTTP/1.1\r\nHost: {HOST}:{target.port}\r\n"
    head += f"Content-Type: multipart/form-data; boundary=x\r\nContent-Length: {MEGABYTES << 20}\r\n\r\n"
    with suppress(OSError), socket.create_connection((HOST, target.port), 30, (STRANGER, 0)) as line:
        line.sendall(head.encode())
        for _ in range(MEGABYTES):
            line.sendall(bytes(1 << 20))


def documents(target: Target) -> None:
    """The same document for eight at once, printed anew each round."""
    while True:
        for kept in target.quotes.glob("*-a4*.pdf"):
            kept.unlink(missing_ok=True)
        path = f"/tickets/{target.ticket}/quotes/1.pdf?paper=a4"
        threads = [threading.Thread(target=_ask, args=(target, "GET", path)) for _ in range(DOCUMENTS)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()


def photos(target: Target) -> None:
    """A progressive picture of 40 million pixels whose last scan stands there a hundred times."""
    encoded = io.BytesIO()
    Image.new("RGB", (6320, 6320)).save(encoded, "JPEG", progressive=True)
    jpeg = encoded.getvalue()
    scan = jpeg[jpeg.rindex(b"\xff\xda") : -2]
    jpeg = jpeg[:-2] + scan * (SCANS - jpeg.count(b"\xff\xda")) + b"\xff\xd9"
    part = b'--x\r\nContent-Disposition: form-data; name="photo"; filename="x.jpg"\r\n\r\n'
    body = part + jpeg + b"\r\n--x--\r\n"
    kind = {"Content-Type": "multipart/form-data; boundary=x"}
    place = f"/tickets/{target.ticket}/photos"
    lines = threading.local()

    def send() -> None:
        if not hasattr(lines, "line"):
            lines.line = HTTPConnection(HOST, target.port, timeout=60, source_address=(OTHER_PHONE, 0))
        headers = kind | {"Cookie": target.cookie, "Idempotency-Key": str(uuid4())}
        try:
            lines.line.request("POST", place, body, headers)
            lines.line.getresponse().read()
        except (OSError, HTTPException):
            del lines.line

    _at_once(PHOTOS, send)


def _ask(
    target: Target, method: str, path: str, body: bytes = b"", headers: dict[str, str] | None = None
) -> None:
    with suppress(OSError, HTTPException):
        line = HTTPConnection(HOST, target.port, timeout=60)
        line.request(method, path, body or None, {"Cookie": target.cookie, **(headers or {})})
        line.getresponse().read()
        line.close()


def _at_once(count: int, work: Callable[[], None]) -> None:
    def go_on() -> None:
        while True:
            work()
            time.sleep(0.01)

    threads = [threading.Thread(target=go_on) for _ in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


FLOODS: dict[str, Callable[[Target], None]] = {
    f"{SOCKETS} idle sockets": idle_sockets,
    f"{UPLOADS} anonymous uploads": uploads,
    f"{DOCUMENTS} PDFs of one quote": documents,
    f"{PHOTOS} photos of {SCANS} scans": photos,
}


@contextmanager
def flooded(name: str, target: Target) -> Iterator[None]:
    """That flood, for as long as the block runs."""
    process = multiprocessing.get_context("spawn").Process(target=FLOODS[name], args=(target,), daemon=True)
    process.start()
    time.sleep(3)
    try:
        yield
    finally:
        process.kill()
        process.join()
