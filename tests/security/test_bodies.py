"""What a stranger may send is small, and refused by its headers: nothing of it is read (ASVS 15.2.2)."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from http.client import HTTPConnection
from queue import Queue
from typing import Any

import pytest

from intake.server import asgi
from intake.server.uvicorn_server import Running, serve
from intake.web.body_limits import LARGEST_OF_STRANGERS

HOST, WAIT = "127.0.0.1", 120
MEGABYTE = 1024 * 1024
MULTIPART = "multipart/form-data; boundary=x"


@pytest.fixture
def running(site: Any) -> Iterator[Running]:
    """The shop on the real server."""
    ready: Queue[Running] = Queue()
    thread = threading.Thread(target=serve, args=(lambda: site.app, HOST, 0, None, ready.put))
    thread.start()
    at = ready.get(timeout=WAIT)
    yield at
    at.stop()
    thread.join(WAIT)


def announce(running: Running, path: str, size: int, cookies: dict[str, str], kind: str = "") -> int:
    """The status that comes when only the headers were sent; 100 where the server wants the body first."""
    mime = kind or MULTIPART
    cookie = "; ".join(f"{name}={value}" for name, value in cookies.items())
    head = f"POST {path} HTTP/1.1\r\nHost: {HOST}:{running.port}\r\nContent-Type: {mime}\r\n"
    head += f"Cookie: {cookie}\r\n" if cookie else ""
    with socket.create_connection((HOST, running.port), timeout=WAIT) as line:
        line.sendall(f"{head}Expect: 100-continue\r\nContent-Length: {size}\r\n\r\n".encode())
        return int(line.recv(4096).split()[1])


def test_a_stranger_s_photo_is_refused_unread(site: Any, running: Running) -> None:
    for path, status in (
        (f"/tickets/{site.here.ticket}/photos", 401),
        ("/book/import", 401),
        (f"{site.here.page}/question", 413),
        ("/signin/owner", 413),
        ("/nowhere", 404),
    ):
        for cookies in ({}, {"session": "made up", "device": "made up"}):
            assert announce(running, path, 20 * MEGABYTE, cookies) == 413, path
            assert announce(running, path, LARGEST_OF_STRANGERS + 1, cookies) == status, path


def test_a_photo_of_an_enrolled_phone_is_waited_for(site: Any, running: Running) -> None:
    """Also once its session has ended: it must hear that, not lose its line."""
    path, badge = f"/tickets/{site.here.ticket}/photos", site.cookies["counter"]
    for cookies in (badge, {"device": badge["device"]}):
        assert announce(running, path, 20 * MEGABYTE, cookies) == 100
        assert announce(running, path, 30 * MEGABYTE, cookies) in (401, 413)


def test_what_nobody_signed_in_sends_is_read_and_not_kept(
    site: Any, running: Running, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A lost or withdrawn phone hears so at the end of its photo, and fills no disk meanwhile."""
    kept: list[bool] = []

    async def read_body(*given: Any) -> asgi.Body:
        kept.append(given[-1])
        return await real(*given)

    real = asgi.read_body
    monkeypatch.setattr(asgi, "read_body", read_body)
    path, badge = f"/tickets/{site.here.ticket}/photos", site.cookies["counter"]
    for cookies in (badge, {"device": badge["device"]}):
        line = HTTPConnection(HOST, running.port, timeout=WAIT)
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in cookies.items())}
        line.request("POST", path, bytes(20 * MEGABYTE), headers | {"Content-Type": MULTIPART})
        assert (line.getresponse().status == 401) is (cookies is not badge)
        line.close()

    assert kept == [True, False]


def test_text_of_an_enrolled_phone_may_weigh_a_megabyte(site: Any, running: Running) -> None:
    path = f"/tickets/{site.here.ticket}/steps/neck"
    urlencoded = "application/x-www-form-urlencoded"
    assert announce(running, path, MEGABYTE - 1, site.cookies["counter"], urlencoded) == 100
    assert announce(running, path, 2 * MEGABYTE, site.cookies["counter"], urlencoded) == 413


def test_the_longest_answer_of_a_customer_fits(site: Any) -> None:
    """A signature and words as long as they are kept, percent-encoded, with room to spare."""
    signature = ";".join(["100,100 200,200"] * 1250)
    form = {"name": "é" * 120, "note": "é" * 2000, "signature": signature}
    assert len(signature) <= 20_000

    answer = site.client("nobody").post(f"{site.there.page}/no", data={"reason": "é" * 2000, **form})

    assert answer.status_code == 303
