"""The line between a phone and the shop: a proxy that delays, drops, cuts, doubles and holds requests."""

from __future__ import annotations

import random
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import suppress
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from queue import Empty, SimpleQueue

HOST = "127.0.0.1"
PATIENCE = 60
LONGEST_DELAY = 0.8
HOP = {"connection", "keep-alive", "transfer-encoding", "content-length"}
PORTAL = (200, [("Content-Type", "text/html")], b"<!doctype html><title>Sign in to the network</title>")
Answer = tuple[int, list[tuple[str, str]], bytes]


@dataclass(frozen=True)
class Request:
    """One request of a browser."""

    method: str
    path: str
    headers: tuple[tuple[str, str], ...]
    body: bytes

    @property
    def is_plain(self) -> bool:
        """Files of the program: they bring no fault to light."""
        return "/static/" in self.path


class Line:
    """A proxy on a port of its own, which a phone takes for the shop. `bad` turns faults on, `cut` lets
    nothing through. What is held goes on at `release`, in another order."""

    def __init__(self) -> None:
        self.bad, self.cut, self.shop_port = False, False, 0
        self._dice = random.Random()
        self._held: SimpleQueue[tuple[Request, Future[Answer | None]]] = SimpleQueue()
        self._files: dict[tuple[str, str], Answer] = {}
        self._server = ThreadingHTTPServer((HOST, 0), _handler(self))
        self._server.daemon_threads = True
        threading.Thread(target=self._server.serve_forever, args=(0.05,), daemon=True).start()
        self.url = f"http://{HOST}:{self._server.server_address[1]}"

    def begin(self, seed: str) -> None:
        """Another walk."""
        self.release()
        self._dice = random.Random(seed)
        self.bad, self.cut = False, False

    def close(self) -> None:
        self.release()
        self._server.shutdown()
        self._server.server_close()

    def take(self, request: Request) -> Answer | None:
        """The answer, or None where the line breaks."""
        if request.is_plain:
            return None if self.cut else self._file(request)
        if self.cut:
            return None
        return self._fault(request)(request) if self.bad else self._forward(request)

    def _fault(self, request: Request) -> Callable[[Request], Answer | None]:
        faults = {
            self._forward: 45,
            self._delay: 20,
            self._late: 8,
            self._lost: 9,
            lambda _: None: 6,
            self._half: 3,
            lambda _: PORTAL: 2,
            self._hold if request.method == "POST" else self._delay: 8,
            self._doubled if request.method == "POST" else self._late: 5,
        }
        return self._dice.choices(list(faults), list(faults.values()))[0]

    def release(self) -> None:
        """What was held goes on, not in the order in which it came."""
        held: list[tuple[Request, Future[Answer | None]]] = []
        with suppress(Empty):
            while True:
                held.append(self._held.get_nowait())
        self._dice.shuffle(held)
        for request, answer in held:
            answer.set_result(self._forward(request))

    def _forward(self, request: Request) -> Answer | None:
        connection = HTTPConnection(HOST, self.shop_port, timeout=PATIENCE)
        try:
            headers = {name: value for name, value in request.headers if name.lower() not in HOP}
            connection.request(request.method, request.path, request.body or None, headers)
            answer = connection.getresponse()
            kept = [(name, value) for name, value in answer.getheaders() if name.lower() not in HOP]
            return answer.status, kept, answer.read()
        except (OSError, HTTPException):
            return None
        finally:
            connection.close()

    def _file(self, request: Request) -> Answer | None:
        """Files whose address names their content are fetched from the shop once."""
        encodings = next((value for name, value in request.headers if name.lower() == "accept-encoding"), "")
        key = (request.path, encodings)
        if key in self._files:
            return self._files[key]
        answer = self._forward(request)
        if answer and answer[0] == 200 and "immutable" in dict(answer[1]).get("Cache-Control", ""):
            self._files[key] = answer
        return answer

    def _delay(self, request: Request) -> Answer | None:
        time.sleep(self._dice.random() * LONGEST_DELAY)
        return self._forward(request)

    def _late(self, request: Request) -> Answer | None:
        answer = self._forward(request)
        time.sleep(self._dice.random() * LONGEST_DELAY)
        return answer

    def _lost(self, request: Request) -> Answer | None:
        self._forward(request)
        return None

    def _half(self, request: Request) -> Answer | None:
        """The answer breaks off; its length was announced."""
        answer = self._forward(request)
        if answer is None or not answer[2]:
            return None
        status, headers, body = answer
        return status, [*headers, ("Content-Length", str(len(body)))], body[: len(body) // 2]

    def _doubled(self, request: Request) -> Answer | None:
        self._forward(request)
        return self._forward(request)

    def _hold(self, request: Request) -> Answer | None:
        waiting: Future[Answer | None] = Future()
        self._held.put((request, waiting))
        return waiting.result()


def _handler(line: Line) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def _take(self) -> None:
            body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
            headers = tuple(self.headers.items())
            answer = line.take(Request(self.command, self.path, headers, body))
            if answer is None:
                self.close_connection = True
                return
            with suppress(OSError):  # the browser may have gone meanwhile
                self._give(*answer)

        def _give(self, status: int, headers: list[tuple[str, str]], body: bytes) -> None:
            self.send_response_only(status)
            for name, value in headers:
                self.send_header(name, value)
            announced = any(name == "Content-Length" for name, _ in headers)
            if announced:
                self.close_connection = True
            elif status not in (204, 304):
                self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        do_GET = do_POST = do_HEAD = _take

        def handle(self) -> None:
            with suppress(OSError):
                super().handle()

        def log_message(self, format: str, *args: object) -> None:
            pass

    return Handler
