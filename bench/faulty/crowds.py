"""Many at once: phones, slow clients, bodies too large, a second server; all against the real server."""

from __future__ import annotations

import os
import select
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from http.client import HTTPConnection
from pathlib import Path
from statistics import quantiles
from urllib.parse import urlencode
from uuid import uuid4

import badge

from faulty.trial import Trial, broken
from intake.store.db import Store

HOST = "127.0.0.1"
POST = "POST /tickets/{}/photos HTTP/1.1"
FORM = "Content-Type: multipart/form-data; boundary=b"
TWO_GB = 2 * 1024**3


def command(shop: Path) -> list[str]:
    return [sys.executable, "-m", "intake.server", "--data", str(shop), "--port", "0"]


def here() -> dict[str, str]:
    """The environment in which a child finds the same modules."""
    return {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}


@contextmanager
def serving(shop: Path) -> Iterator[int]:
    """The port of a server in a process of its own."""
    process = subprocess.Popen(
        command(shop),
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env=here(),
    )
    assert process.stdout
    try:
        yield int(process.stdout.readline().rstrip("/\n").rsplit(":", 1)[1])
    finally:
        process.terminate()
        process.wait()
        process.stdout.close()


def two_servers(shop: Path) -> Trial:
    """A second server on the same data folder."""
    with serving(shop):
        second = subprocess.run(
            command(shop),
            capture_output=True,
            text=True,
            timeout=60,
            env=here(),
        )
    says = second.stderr.strip().splitlines()[-1]
    return Trial(
        "two servers on one store",
        1,
        int(second.returncode == 0 or "is in use by" not in says),
        says.replace(str(shop), "…"),
    )


def crowd(shop: Path, phones: int = 50, each: int = 4) -> Trial:
    """Every phone saves steps of its own tickets as fast as it gets answers."""
    cookie = badge.cookie(shop)
    with serving(shop) as port, ThreadPoolExecutor(phones) as threads:
        taken = [
            t for found in threads.map(lambda _: _phone(port, cookie, each), range(phones)) for t in found
        ]
    store = Store(shop)
    lost = (
        phones * each
        - store.db.table("edits").count_where("part = ?", ["customer_name"])
        + sum(not kept for _, kept in taken)
    )
    store.close()
    p95 = quantiles([seconds for seconds, _ in taken], n=20)[-1] * 1000
    return Trial(
        f"{phones * each} saves from {phones} phones at once",
        phones * each,
        lost + broken(shop),
        f"nothing (95 of 100 within {p95:.0f} ms)",
    )


def _phone(port: int, cookie: str, saves: int) -> list[tuple[float, bool]]:
    connection = HTTPConnection(HOST, port, timeout=60)
    found = [_save(connection, cookie) for _ in range(saves)]
    connection.close()
    return found


def _save(connection: HTTPConnection, cookie: str) -> tuple[float, bool]:
    begin, key = time.perf_counter(), str(uuid4())
    headers = {"Content-Type": "application/x-www-form-urlencoded", "Idempotency-Key": key, "Cookie": cookie}
    body = urlencode({"customer_name": "Ines Falk", "customer_phone": "555 0117", "based_on": "0"})
    connection.request("POST", f"/tickets/{uuid4()}/steps/customer", body, headers)
    answer = connection.getresponse()
    answer.read()
    return time.perf_counter() - begin, answer.status in (200, 422) and answer.headers["Saved-Key"] == key


def too_large(shop: Path) -> Trial:
    """An upload of two gigabytes, announced or not; the server reads none of the one and stops the other."""
    cookie = badge.cookie(shop)
    with serving(shop) as port:
        told = [
            _send(port, cookie, f"Content-Length: {TWO_GB}", 40),
            _send(port, cookie, "Transfer-Encoding: chunked", TWO_GB),
        ]
        connection = HTTPConnection(HOST, port, timeout=60)
        lost = not _save(connection, cookie)[1]
        connection.close()
    lost += sum(b" 413 " not in head for head, _ in told)
    most = max(sent for _, sent in told)
    saw = told[0][0].partition(b"\r\n\r\n")[2].decode()
    return Trial(f"upload of 2 GB ({most / 1e6:.0f} MB taken at most)", 2, lost + broken(shop), saw)


def _send(port: int, cookie: str, header: str, size: int) -> tuple[bytes, int]:
    """The answer, and how many bytes the server let come."""
    lines = (
        POST.format(uuid4()),
        f"Host: {HOST}",
        f"Cookie: {cookie}",
        "Idempotency-Key: k",
        header,
        FORM,
        "",
        "",
    )
    chunk = b"10000\r\n" + b"x" * 65536 + b"\r\n"
    block = chunk if "chunked" in header else b"x" * 40
    sent, answer = 0, b""
    with socket.create_connection((HOST, port), timeout=60) as line:
        line.sendall("\r\n".join(lines).encode())
        with suppress(OSError):
            while sent < size and not select.select([line], [], [], 0)[0]:
                line.sendall(block)
                sent += len(block)
        with suppress(OSError):
            while more := line.recv(65536):
                answer += more
    return answer, sent


def slow_clients(shop: Path, slow: int = 60, saves: int = 20) -> Trial:
    """Clients that send a byte now and then, while one phone saves."""
    cookie = badge.cookie(shop)
    with serving(shop) as port:
        lines = [socket.create_connection((HOST, port), timeout=60) for _ in range(slow)]
        head = "\r\n".join((POST.format(uuid4()), f"Host: {HOST}", "Content-Length: 100000", "", "")).encode()
        for number, line in enumerate(lines):
            line.sendall(head if number % 2 else head[:30])
        connection = HTTPConnection(HOST, port, timeout=60)
        taken = []
        for _ in range(saves):
            for line in lines:
                line.send(b"x")
            taken.append(_save(connection, cookie))
        connection.close()
        for line in lines:
            line.close()
    slowest = max(seconds for seconds, _ in taken) * 1000
    lost = sum(not kept for _, kept in taken)
    return Trial(
        f"{slow} slow clients beside one phone",
        saves,
        lost + broken(shop),
        f"nothing (slowest save {slowest:.0f} ms)",
    )
