"""The server on loopback: `python bench/server.py [--tls] [--clients N]` prints how quick it is.

Time to start, requests a second, p50 and p95. The shop itself, in a process of its own with the demo shop's
book; the clients here share this machine's processors with it. Each row runs four seconds; GET is the (empty)
board, POST saves the customer step.
"""

from __future__ import annotations

import argparse
import ssl
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from http.client import HTTPConnection, HTTPSConnection
from ipaddress import IPv4Address
from pathlib import Path
from statistics import quantiles
from tempfile import TemporaryDirectory
from urllib.parse import urlencode
from uuid import uuid4

import badge

from intake.lan.prepare import prepare
from intake.store.ids import uuid7

SECONDS = 4.0
HOST = "127.0.0.1"
ANSWERS = {"customer_name": "Ines Falk", "customer_phone": "555 0117", "based_on": "0", "passed": ""}


@dataclass(frozen=True)
class Server:
    """A running server: how to connect, seconds from starting its process to its first answer, and the Cookie
    header of somebody signed in."""

    connect: Callable[[], HTTPConnection]
    started_in: float
    cookie: str


@contextmanager
def launched(data: Path, tls: bool) -> Iterator[tuple[int, ssl.SSLContext | None]]:
    """The server in a process of its own, until the block ends: its port, and whom to trust over TLS."""
    command = [sys.executable, "-m", "intake.server", "--data", str(data), "--port", "0"]
    context = None
    if tls:
        lan = prepare(data, "Bench", IPv4Address(HOST), 8643, datetime.now(UTC))
        context = ssl.create_default_context(cafile=lan.authority.folder / "root.pem")
        command += ["--certificate", str(lan.authority.server_file)]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert process.stdout
    try:
        yield int(process.stdout.readline().rstrip("/\n").rsplit(":", 1)[1]), context
    finally:
        process.terminate()
        process.wait()


@contextmanager
def started(data: Path, tls: bool) -> Iterator[Server]:
    """The server, with somebody signed in, until the block ends."""
    cookie = badge.cookie(data, "__Host-" if tls else "")
    begin = time.perf_counter()
    with launched(data, tls) as (port, context):

        def connect() -> HTTPConnection:
            return HTTPSConnection(HOST, port, context=context) if context else HTTPConnection(HOST, port)

        get(connect(), cookie)
        yield Server(connect, time.perf_counter() - begin, cookie)


def get(line: HTTPConnection, cookie: str) -> None:
    line.request("GET", "/", headers={"Cookie": cookie})
    finish(line)


def post(line: HTTPConnection, cookie: str) -> None:
    headers = {
        "Cookie": cookie,
        "Idempotency-Key": str(uuid4()),
        "Device": "bench",
        "Content-Type": "application/x-www-form-urlencoded",
    }
    ticket = uuid7(datetime.now(UTC))
    line.request("POST", f"/tickets/{ticket}/steps/customer", urlencode(ANSWERS), headers)
    finish(line)


def finish(line: HTTPConnection) -> None:
    answer = line.getresponse()
    body = answer.read()
    if answer.status != 200:
        raise RuntimeError(f"answered {answer.status}: {body[:200]!r}")


def measure(server: Server, ask: Callable[[HTTPConnection, str], None], clients: int) -> list[float]:
    """Milliseconds of every request that so many connections made in SECONDS."""
    times: list[float] = []
    end = time.perf_counter() + SECONDS

    def client() -> None:
        line = server.connect()
        while (begin := time.perf_counter()) < end:
            ask(line, server.cookie)
            times.append((time.perf_counter() - begin) * 1000)

    threads = [threading.Thread(target=client) for _ in range(clients)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return times


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clients", type=int, default=8)
    parser.add_argument(
        "--tls", action="store_true", help="over TLS, with a certificate authority made for it"
    )
    given = parser.parse_args()
    with TemporaryDirectory() as folder, started(Path(folder), given.tls) as server:
        print(f"start to first answer: {server.started_in:.2f} s")
        for name, ask in (("GET the board", get), ("POST a save", post)):
            times = measure(server, ask, given.clients)
            cuts = quantiles(times, n=20)
            rate = f"{len(times) / SECONDS:7.0f} req/s"
            print(f"{name:<14} {rate}   p50 {cuts[9]:6.1f} ms   p95 {cuts[18]:6.1f} ms")


if __name__ == "__main__":
    main()
