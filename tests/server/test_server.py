"""The production server on loopback: TLS, stopping, slow and broken clients, renewal while it runs."""

from __future__ import annotations

import asyncio
import json
import os
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager, suppress
from datetime import UTC, datetime, timedelta
from http.client import HTTPConnection, HTTPSConnection
from ipaddress import IPv4Address
from pathlib import Path
from queue import Queue
from typing import Any

import pytest
from flask import Flask, Response, request, stream_with_context

from intake.config import demo_book
from intake.lan.certificates import Names, issue_leaf
from intake.lan.prepare import Prepared, prepare
from intake.server import asgi, listener, protocol, uvicorn_server
from intake.server.connections import MOST_OF_A_NETWORK
from intake.server.listener import (
    MOST_HANDSHAKES,
    NEW_A_SECOND,
    NEW_AT_ONCE,
    REMEMBERED,
    Rate,
    ServerError,
    listen,
)  # fmt: skip
from intake.server.run import run_server
from intake.server.uvicorn_server import Running, TlsFiles, serve

HOST = "127.0.0.1"
LARGEST = 2 * 1024 * 1024
WAIT = 120


class Shop:
    """A small application that keeps what reached it."""

    def __init__(self) -> None:
        self.stored: list[bytes] = []
        self.started, self.go_on = threading.Event(), threading.Event()
        self.closed = threading.Event()

    def make(self) -> Flask:
        app = Flask("shop")
        app.config["MAX_CONTENT_LENGTH"] = LARGEST
        app.add_url_rule("/", "open", lambda: "open")
        app.add_url_rule("/store", view_func=self.store, methods=["POST"])
        app.add_url_rule("/slow", view_func=self.slow)
        app.add_url_rule("/long", view_func=self.long)
        app.add_url_rule("/fifty_megabytes", view_func=self.fifty_megabytes)
        app.add_url_rule("/environ/<path:rest>", view_func=environ)
        app.add_url_rule("/broken", "broken", lambda: 1 / 0)
        return app

    def store(self) -> str:
        self.stored.append(request.get_data())
        return str(len(self.stored[-1]))

    def slow(self) -> str:
        self.started.set()
        self.go_on.wait(WAIT)
        return "done"

    def long(self) -> Response:
        def parts() -> Iterator[bytes]:
            for _ in range(40):
                yield request.path.encode() * 10_000

        answer = Response(stream_with_context(parts()))
        answer.call_on_close(self.closed.set)
        return answer

    def fifty_megabytes(self) -> Response:
        answer = Response(stream_with_context(b"x" * 100_000 for _ in range(500)))
        answer.call_on_close(self.closed.set)
        return answer


def environ(rest: str) -> dict[str, Any]:
    kept = ("HTTP_", "PATH_INFO", "QUERY", "wsgi.url", "REMOTE", "CONTENT")
    return {"rest": rest} | {key: value for key, value in request.environ.items() if key.startswith(kept)}


@contextmanager
def serving(
    shop: Shop, tls: TlsFiles | None = None, check_every: float = 3600, **more: Any
) -> Iterator[Running]:
    ready: Queue[Running] = Queue()
    arguments = (shop.make, HOST, 0, tls, ready.put, check_every)
    thread = threading.Thread(target=serve, args=arguments, kwargs=more)
    thread.start()
    running = ready.get(timeout=WAIT)
    try:
        yield running
    finally:
        shop.go_on.set()
        running.stop()
        thread.join(WAIT)
        assert not thread.is_alive()


@pytest.fixture
def shop() -> Shop:
    return Shop()


@pytest.fixture
def running(shop: Shop) -> Iterator[Running]:
    with serving(shop) as at:
        yield at


def ask(running: Running, path: str = "/", body: Any = None, **headers: str) -> tuple[int, bytes]:
    line = HTTPConnection(HOST, running.port, timeout=WAIT)
    try:
        line.request("GET" if body is None else "POST", path, body, headers)
        answer = line.getresponse()
        return answer.status, answer.read()
    finally:
        line.close()


def raw(running: Running, text: bytes) -> socket.socket:
    line = socket.create_connection((HOST, running.port), timeout=WAIT)
    line.sendall(text)
    return line


def until(true: Callable[[], object]) -> None:
    end = time.monotonic() + WAIT
    while not true():
        assert time.monotonic() < end
        time.sleep(0.01)


def test_requests_reach_the_application_whole(running: Running, shop: Shop) -> None:
    photo = os.urandom(LARGEST)
    assert ask(running) == (200, b"open")
    assert ask(running, "/store", photo) == (200, str(LARGEST).encode())
    assert ask(running, "/store", iter([b"in ", b"chunks"])) == (200, b"9")
    assert shop.stored == [photo, b"in chunks"]


def test_the_environment_of_a_request(running: Running) -> None:
    headers = {
        "X_Device": "forged",
        "X-Device": "7",
        "X-Forwarded-Proto": "https",
        "X-Forwarded-For": "1.2.3.4",
    }
    _, text = ask(running, "/environ/Z%C3%BCrich%2Fx%20y?a=1&b=%20", **headers)
    seen = json.loads(text)
    assert seen["rest"] == "Zürich/x y"
    assert seen["QUERY_STRING"] == "a=1&b=%20"
    assert seen["HTTP_X_DEVICE"] == "7"
    assert seen["wsgi.url_scheme"] == "http"
    assert seen["REMOTE_ADDR"] == HOST
    assert "CONTENT_LENGTH" not in seen


def test_a_long_answer_comes_whole_and_is_closed(running: Running, shop: Shop) -> None:
    assert ask(running, "/long") == (200, b"/long" * 400_000)
    assert shop.closed.wait(WAIT)


def test_a_reader_who_leaves_a_long_answer_disturbs_nobody(running: Running, shop: Shop) -> None:
    raw(running, b"GET /long HTTP/1.1\r\nHost: x\r\n\r\n").close()
    assert shop.closed.wait(WAIT)
    assert ask(running) == (200, b"open")


def test_a_fault_in_the_application_is_an_answer(running: Running) -> None:
    assert ask(running, "/broken")[0] == 500
    assert ask(running) == (200, b"open")


def test_too_long_a_body_is_refused_by_the_application_unread(running: Running, shop: Shop) -> None:
    head = f"POST /store HTTP/1.1\r\nHost: x\r\nContent-Length: {LARGEST + 1}\r\n\r\n".encode()
    with raw(running, head) as line:
        assert b" 413 " in line.recv(4096)
    chunks = (bytes(64 * 1024) for _ in range(33))
    with suppress(ConnectionError):
        assert ask(running, "/store", chunks)[0] == 413
    assert shop.stored == []


@pytest.mark.parametrize("framing", [b"Content-Length: 20", b"Transfer-Encoding: chunked"])
def test_a_body_cut_short_never_reaches_the_application(running: Running, shop: Shop, framing: bytes) -> None:
    part = b"relief=0.008" if b"Length" in framing else b"c\r\nrelief=0.008\r\n"
    raw(running, b"POST /store HTTP/1.1\r\nHost: x\r\n" + framing + b"\r\n\r\n" + part).close()
    assert ask(running, "/store", b"whole") == (200, b"5")
    assert shop.stored == [b"whole"]


@pytest.mark.parametrize(
    "begun",
    [
        b"",
        b"GET / HTTP/1.1\r\nHost: x\r\n",
        b"POST /store HTTP/1.1\r\nHost: x\r\nContent-Length: 1000\r\n\r\nabc",
        b"POST /store HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\n3\r\nabc\r\n",
    ],
    ids=["nothing", "headers", "body", "chunks"],
)
def test_twenty_slow_clients_do_not_hold_up_a_quick_one(running: Running, shop: Shop, begun: bytes) -> None:
    with ExitStack() as lines:
        for _ in range(20):
            lines.enter_context(raw(running, begun))
        assert ask(running) == (200, b"open")
        assert ask(running, "/store", b"quick") == (200, b"5")
    assert shop.stored == [b"quick"]


def test_silent_clients_are_let_go(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(protocol, "HEADER_PATIENCE", 0.1)
    monkeypatch.setattr(uvicorn_server, "BODY_PATIENCE", 0.1)
    with serving(shop) as running, raw(running, b"") as mute, raw(running, b"GET / HT") as halting:
        assert (mute.recv(100), halting.recv(100)) == (b"", b"")
        with raw(running, b"POST /store HTTP/1.1\r\nHost: x\r\nContent-Length: 9\r\n\r\nabc") as stalled:
            assert b" 408 " in stalled.recv(4096)
        assert shop.stored == []


def test_one_connection_serves_many_requests(running: Running) -> None:
    line = HTTPConnection(HOST, running.port, timeout=WAIT)
    line.connect()
    first = line.sock
    for number in range(5):
        line.request("POST", "/store", b"x" * number)
        assert line.getresponse().read() == str(number).encode()
    assert line.sock is first
    line.close()


def test_a_taken_port_is_said_before_anything_starts(shop: Shop) -> None:
    with socket.socket() as other:
        other.bind((HOST, 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(ServerError, match=f"Port {port} is taken by another program.*--port"):
            serve(lambda: pytest.fail("the application was made"), HOST, port)


def test_a_host_that_is_not_this_machines_is_said() -> None:
    for host in ("203.0.113.77", "no such name"):
        with pytest.raises(ServerError, match=r"no address .*choose one"):
            listen(host, 0)


def test_connections_are_named_as_tcp_so_that_asyncio_sends_without_delay() -> None:
    with listen(HOST, 0) as line:
        assert line.proto == socket.IPPROTO_TCP


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may use any port")
def test_a_privileged_port_is_said() -> None:
    with pytest.raises(ServerError, match="may not be used"):
        listen(HOST, 1)


def test_a_useless_certificate_is_said(tmp_path: Path, shop: Shop) -> None:
    wrong = tmp_path / "wrong.pem"
    for content in (None, "nonsense"):
        if content:
            wrong.write_text(content)
        with pytest.raises(ServerError, match=r"wrong\.pem"):
            serve(shop.make, HOST, 0, TlsFiles(wrong, wrong))


# TLS with the shop's own authority


@pytest.fixture(scope="module")
def lan(tmp_path_factory: pytest.TempPathFactory) -> Prepared:
    return prepare(tmp_path_factory.mktemp("data"), "Corner Frets", IPv4Address(HOST), 8643, now())


def now() -> datetime:
    return datetime.now(UTC)


def files(lan: Prepared, renew: Callable[[], bool] = lambda: False) -> TlsFiles:
    return TlsFiles(lan.authority.server_file, lan.authority.server_file, renew)


def trusting(lan: Prepared) -> ssl.SSLContext:
    return ssl.create_default_context(cadata=lan.authority.root.certificate_pem().decode())


def ask_tls(running: Running, context: ssl.SSLContext, host: str = HOST) -> tuple[int, bytes, bytes]:
    """Status, body, and the server's certificate (DER)."""
    line = HTTPSConnection(host, running.port, timeout=WAIT, context=context)
    try:
        line.request("GET", "/environ/x")
        shown = line.sock.getpeercert(binary_form=True)
        answer = line.getresponse()
        return answer.status, answer.read(), shown
    finally:
        line.close()


def test_a_client_that_trusts_the_root_is_served_over_tls(shop: Shop, lan: Prepared) -> None:
    with serving(shop, files(lan)) as running:
        assert running.url == f"https://{HOST}:{running.port}/"
        for host in (HOST, "localhost"):
            status, body, _ = ask_tls(running, trusting(lan), host)
            assert (status, json.loads(body)["wsgi.url_scheme"]) == (200, "https")


def test_others_refuse_it_and_disturb_nobody(shop: Shop, lan: Prepared) -> None:
    old = trusting(lan)
    with pytest.warns(DeprecationWarning):
        old.maximum_version = ssl.TLSVersion.TLSv1_1
    with serving(shop, files(lan)) as running, raw(running, b"GET / HTTP/1.1\r\n\r\n"), raw(running, b""):
        for context in (ssl.create_default_context(), old):
            with pytest.raises(ssl.SSLError):
                ask_tls(running, context)
        assert ask_tls(running, trusting(lan))[0] == 200


def test_a_name_beyond_the_limits_is_refused_by_the_client(shop: Shop, lan: Prepared, tmp_path: Path) -> None:
    leaf = issue_leaf(lan.authority.root, Names((IPv4Address(HOST),), ("example.org",)), now())
    path = tmp_path / "leaf.pem"
    path.write_bytes(leaf.certificate_pem() + leaf.key_pem())
    refused = pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation")
    with serving(shop, TlsFiles(path, path)) as running, refused:
        ask_tls(running, trusting(lan))


@pytest.mark.skipif(not shutil.which("curl"), reason="needs curl")
def test_curl_agrees(shop: Shop, lan: Prepared) -> None:
    root = lan.authority.folder / "root.pem"
    curl = ["curl", "-sS", "--max-time", str(WAIT), "--noproxy", "*"]
    with serving(shop, files(lan)) as running:
        good = subprocess.run([*curl, "--cacert", root, running.url], capture_output=True)
        assert good.stdout == b"open", good.stderr
        assert subprocess.run([*curl, running.url], capture_output=True).returncode == 60


def test_a_renewed_certificate_is_served_without_a_stop(shop: Shop, tmp_path: Path) -> None:
    clock = [now() - timedelta(days=61)]
    lan = prepare(tmp_path, "Corner Frets", IPv4Address(HOST), 8643, clock[0])
    tls = files(lan, lan.renewer(lambda: clock[0]))
    with serving(shop, tls, check_every=0.05) as running:
        held = HTTPSConnection(HOST, running.port, timeout=WAIT, context=trusting(lan))
        held.request("GET", "/slow")
        assert shop.started.wait(WAIT)
        first = ask_tls(running, trusting(lan))[2]
        clock[0] = now()
        until(lambda: ask_tls(running, trusting(lan))[2] != first)
        shop.go_on.set()
        assert held.getresponse().read() == b"done"
        held.close()


def test_a_renewal_that_fails_leaves_the_old_certificate_at_work(
    shop: Shop, lan: Prepared, caplog: pytest.LogCaptureFixture
) -> None:
    def fail() -> bool:
        raise OSError("disk full")

    with serving(shop, files(lan, fail), check_every=0.05) as running:
        until(lambda: "could not be renewed" in caplog.text)
        assert ask_tls(running, trusting(lan))[0] == 200


# Crowds


def hold_idle(running: Running, stack: ExitStack, address: str, count: int) -> list[socket.socket]:
    """So many connections from that address that never ask for anything."""
    lines = []
    for _ in range(count):
        line = socket.create_connection((HOST, running.port), timeout=WAIT, source_address=(address, 0))
        lines.append(stack.enter_context(line))
    return lines


def ask_from(running: Running, address: str, path: str = "/") -> int:
    line = HTTPConnection(HOST, running.port, timeout=WAIT, source_address=(address, 0))
    try:
        line.request("GET", path)
        return line.getresponse().status
    finally:
        line.close()


def has_address(address: str) -> bool:
    """Linux has all of 127/8; elsewhere it is configured by hand."""
    try:
        with socket.socket() as line:
            line.bind((address, 0))
    except OSError:
        return False
    return True


several_addresses = pytest.mark.skipif(not has_address("127.0.0.9"), reason="needs more loopback addresses")


@several_addresses
def test_idle_sockets_of_one_address_keep_nobody_else_out(running: Running) -> None:
    with ExitStack() as stack:
        hold_idle(running, stack, "127.0.0.9", uvicorn_server.REFUSED_BEYOND - 80)
        assert ask_from(running, "127.0.0.8") == 200


@several_addresses
def test_idle_sockets_of_many_addresses_give_way_to_whoever_asks(running: Running, shop: Shop) -> None:
    """Nobody who has a request under way loses it."""
    with ExitStack() as stack, ThreadPoolExecutor(1) as pool:
        slow = pool.submit(ask_from, running, "127.0.0.8", "/slow")
        assert shop.started.wait(WAIT)
        each = MOST_OF_A_NETWORK
        for number in range(uvicorn_server.MOST_CONNECTIONS // each + 2):
            hold_idle(running, stack, f"127.0.1.{number + 1}", each)
        assert ask_from(running, "127.0.0.7") == 200
        shop.go_on.set()
        assert slow.result(WAIT) == 200


@several_addresses
@pytest.mark.parametrize(
    "request_begun",
    [
        b"POST /store HTTP/1.1\r\nHost: x\r\nContent-Length: 1000\r\n\r\nslow",
        b"GET /fifty_megabytes HTTP/1.1\r\nHost: x\r\n\r\n",
    ],
    ids=["a body that never ends", "an answer that nobody reads"],
)
def test_slow_clients_of_a_few_addresses_give_way_to_whoever_asks(
    running: Running, shop: Shop, request_begun: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(protocol, "READING_PATIENCE", 10 * WAIT)
    monkeypatch.setattr(uvicorn_server, "BODY_PATIENCE", 10 * WAIT)
    each = MOST_OF_A_NETWORK
    with ExitStack() as stack:
        for number in range(uvicorn_server.MOST_CONNECTIONS // each + 2):
            for line in hold_idle(running, stack, f"127.0.1.{number + 1}", each):
                with suppress(ConnectionError):
                    line.sendall(request_begun)
        for _ in range(3):
            assert ask_from(running, "127.0.0.7") == 200


@several_addresses
def test_the_shop_s_own_proxy_may_hold_more_connections_than_a_client(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(listener, "NEW_A_SECOND", 0)
    with serving(shop, is_proxy=lambda address: address == HOST) as running, ExitStack() as stack:
        lines = hold_idle(running, stack, HOST, NEW_AT_ONCE + 10)
        lines[-1].sendall(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
        assert b" 200 " in lines[-1].recv(4096)


def test_a_body_that_trickles_in_without_a_pause_has_an_end(shop: Shop) -> None:
    """A byte now and then is no silence: the whole body has a time too."""

    async def trickle() -> dict[str, Any]:
        await asyncio.sleep(0.001)
        return {"type": "http.request", "body": b"x", "more_body": True}

    async def take_in() -> None:
        rules = asgi.BodyRules(lambda _: LARGEST, patience=0.2, slowest=10**9)
        with pytest.raises(TimeoutError):
            await asyncio.wait_for(asgi.read_body(LARGEST, trickle, LARGEST, rules), WAIT)

    with ThreadPoolExecutor(1) as apart:  # a browser test before this one leaves its loop in the main thread
        apart.submit(lambda: asyncio.run(take_in())).result()


def test_a_reader_who_stops_in_the_middle_of_an_answer_is_let_go(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(protocol, "READING_PATIENCE", 0.1)
    with serving(shop) as running, raw(running, b"GET /fifty_megabytes HTTP/1.1\r\nHost: x\r\n\r\n"):
        assert shop.closed.wait(WAIT)


def test_a_tls_handshake_that_does_not_come_has_an_end(
    shop: Shop, lan: Prepared, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(uvicorn_server, "HANDSHAKE_PATIENCE", 0.2)
    with serving(shop, files(lan)) as running, raw(running, b"") as mute:
        mute.settimeout(30)
        assert mute.recv(100) == b""


# Requests that two readers could take apart in two ways


FRAMED_TWICE = b"Content-Length: 4\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n"
SMUGGLED = b"GET /store HTTP/1.1\r\nHost: x\r\n\r\n"


@pytest.mark.parametrize(
    ("head", "status"),
    [
        (b"POST /store HTTP/1.1\r\nHost: x\r\n" + FRAMED_TWICE, 400),
        (b"POST /store HTTP/1.0\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n", 400),
        (b"POST /store HTTP/1.1\r\nHost: x\r\nContent-Length: 0\r\nContent-Length: 4\r\n\r\n", 400),
        (b"POST /store HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: gzip, chunked\r\n\r\n0\r\n\r\n", 400),
        (b"GET / HTTP/1.1\r\nHost: x\r\nHost: y\r\n\r\n", 400),
        (b"GET / HTTP/1.1\r\nHost: x\r\nX-Long: " + b"x" * 70_000 + b"\r\n\r\n", 431),
        (b"GET /?q=" + b"x" * 20_000 + b" HTTP/1.1\r\nHost: x\r\n\r\n", 431),
        (b"GET / HTTP/1.1\r\nHost: x\r\n" + b"X-Many: x\r\n" * 2_000 + b"\r\n", 431),
    ],
    ids=["both", "chunks in 1.0", "two lengths", "two codings", "two hosts", "header", "address", "many"],
)
def test_a_head_that_is_ambiguous_or_too_long_ends_the_connection(
    running: Running, shop: Shop, head: bytes, status: int
) -> None:
    with raw(running, head + SMUGGLED) as line:
        answer = b""
        with suppress(ConnectionError):
            while block := line.recv(65536):
                answer += block

    assert answer[9:12] in {str(status).encode(), b"400"}
    assert answer.count(b"HTTP/1.1 ") == 1
    assert shop.stored == []


def test_a_long_head_in_pieces_is_given_up_before_its_end(running: Running) -> None:
    with raw(running, b"GET / HTTP/1.1\r\nHost: x\r\n") as line:
        with suppress(ConnectionError):
            for _ in range(2_000):
                line.sendall(b"X-Many: " + b"x" * 1_000 + b"\r\n")
        assert b" 400 " in line.recv(4096)[:20]


# New connections


def test_one_network_may_connect_so_often_at_once_and_so_often_a_second() -> None:
    seconds = [0.0]
    rate = Rate(lambda: seconds[0])

    at_once = [rate.admit("192.168.1.7") for _ in range(NEW_AT_ONCE + 1)]
    other = rate.admit("192.168.1.8")
    seconds[0] += 1
    later = [rate.admit("192.168.1.7") for _ in range(NEW_A_SECOND + 1)]

    assert at_once == [True] * NEW_AT_ONCE + [False]
    assert other
    assert later == [True] * NEW_A_SECOND + [False]


def test_many_networks_take_no_more_memory_than_some() -> None:
    rate = Rate(lambda: 0.0)

    for number in range(3 * REMEMBERED):
        rate.admit(f"2001:db8:{number:x}::")

    assert len(rate) == REMEMBERED


@several_addresses
def test_whoever_connects_anew_again_and_again_is_not_let_in(
    shop: Shop, lan: Prepared, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Before TLS, where a handshake costs much more than the connection; others go on."""
    monkeypatch.setattr(listener, "NEW_A_SECOND", 0)
    monkeypatch.setattr(uvicorn_server, "HANDSHAKE_PATIENCE", 2 * WAIT)
    with serving(shop, files(lan)) as running, ExitStack() as stack:
        for _ in range(NEW_AT_ONCE):
            socket.create_connection((HOST, running.port), WAIT, ("127.0.0.9", 0)).close()
        (late,) = hold_idle(running, stack, "127.0.0.9", 1)

        assert late.recv(1) == b""
        assert ask_tls(running, trusting(lan))[0] == 200


def test_handshakes_that_never_come_take_few_of_the_open_files(
    shop: Shop, lan: Prepared, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(uvicorn_server, "HANDSHAKE_PATIENCE", 2 * WAIT)
    open_files = Path("/proc/self/fd")
    with serving(shop, files(lan)) as running, ExitStack() as stack:
        for number in range(5):
            hold_idle(running, stack, f"127.0.1.{number + 1}", MOST_OF_A_NETWORK)
        assert ask_tls(running, trusting(lan))[0] == 200
        if open_files.exists():
            ours = 5 * MOST_OF_A_NETWORK
            assert len(list(open_files.iterdir())) < ours + MOST_HANDSHAKES + 50


@pytest.mark.skipif(os.name != "posix", reason="other systems have no such limit")
def test_the_server_asks_for_enough_open_files() -> None:
    program = "import resource as r; r.setrlimit(r.RLIMIT_NOFILE, (256, 8192));" + PROGRAM.replace(
        'print("begun", flush=True)\n    time.sleep(1)', "import os; print(r.getrlimit(r.RLIMIT_NOFILE)[0])"
    )
    child = subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE, text=True)
    with child:
        assert child.stdout
        assert ask(Running("http", HOST, int(child.stdout.readline()), lambda: None), "/slow")[0] == 200
        child.terminate()
        assert child.stdout.read() == "4096\ncleaned up\n"


# Stopping


PROGRAM = """
import sys, time
from flask import Flask
from intake.server.uvicorn_server import serve
app = Flask("slow")
@app.get("/slow")
def slow():
    print("begun", flush=True)
    time.sleep(1)
    return "done"
serve(lambda: app, "127.0.0.1", 0, None, lambda at: print(at.port, flush=True))
print("cleaned up", flush=True)
"""


@pytest.mark.skipif(os.name != "posix", reason="signals of this kind are POSIX")
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_lets_the_request_in_hand_finish(number: signal.Signals) -> None:
    child = subprocess.Popen([sys.executable, "-c", PROGRAM], stdout=subprocess.PIPE, text=True)
    with child, ThreadPoolExecutor(1) as pool:
        assert child.stdout
        at = Running("http", HOST, int(child.stdout.readline()), lambda: None)
        answer = pool.submit(ask, at, "/slow")
        assert child.stdout.readline() == "begun\n"
        child.send_signal(number)
        assert answer.result(WAIT) == (200, b"done")
        assert child.stdout.read() == "cleaned up\n"
        assert child.wait(WAIT) == 0
        with pytest.raises(ConnectionRefusedError):
            ask(at)


def test_the_shop_itself_is_served(tmp_path: Path) -> None:
    ready: Queue[Running] = Queue()
    thread = threading.Thread(target=run_server, args=(tmp_path, demo_book(), HOST, 0, None, ready.put))
    thread.start()
    running = ready.get(timeout=WAIT)
    status, page = ask(running, "/setup")
    running.stop()
    thread.join(WAIT)
    assert status == 200
    assert b"<html" in page
