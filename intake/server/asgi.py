"""Run a WSGI application under an asyncio server, so that a slow phone costs no thread.

The body is taken in by the event loop and the application starts only when all of it is there: a phone that
leaves the shop's network half way through a save gives no request at all, never a shorter one. The answer is
made in a thread and sent by the loop, which waits for slow readers.
"""

from __future__ import annotations

import asyncio
import contextvars
import sys
from collections.abc import Callable, Iterable, Iterator, MutableMapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from io import BytesIO
from tempfile import SpooledTemporaryFile
from typing import IO, Any, cast
from urllib.parse import unquote_to_bytes
from wsgiref.types import StartResponse, WSGIApplication

from intake.server.request_head import refusal

Message = MutableMapping[str, Any]
IN_MEMORY = 1024 * 1024
BLOCK = 256 * 1024
MANY_TIMES = 8
REFUSED_AT_ONCE = [(b"content-type", b"text/plain"), (b"connection", b"close")]


class Unfinished(Exception):
    """The client went away or fell silent before its whole request was here."""


@dataclass(frozen=True)
class Body:
    """What a client sent: `length` in bytes; not `whole` where it is too long and was left unread."""

    content: IO[bytes]
    length: int | None
    whole: bool = True
    is_hopeless: bool = False
    """So much too long that it was no slip, and costs the application nothing."""


@dataclass(frozen=True)
class BodyRules:
    """How a body may come in: `largest` says of a request how many bytes, before any is read, and `is_wanted`
    whether a long one is kept. One that is not is read to its end, so that whoever sends it hears the answer,
    and takes no room.

    `patience` is how many seconds a client may be silent, and how many it has besides those that its body
    takes at `slowest` bytes a second.
    """

    largest: Callable[[dict[str, Any]], int]
    patience: float = 30.0
    slowest: int = 16_000
    is_wanted: Callable[[dict[str, Any]], bool] = lambda _: True


class Bridge:
    """ASGI application that runs `app`, at most `threads` requests of it at once.

    A body longer than the rules allow is not read: `app` sees its length and an empty stream, and refuses it
    in its own words (Flask's MAX_CONTENT_LENGTH). A client that is silent or slow in the middle of its body
    is answered 408 and its request forgotten.
    """

    def __init__(self, app: WSGIApplication, threads: int, rules: BodyRules) -> None:
        self._app = app
        self._pool = ThreadPoolExecutor(threads, "request")
        self._rules = rules

    async def __call__(self, scope: Message, receive: Callable[..., Any], send: Callable[..., Any]) -> None:
        refused = refusal(scope)
        if refused:
            status, sentence = refused
            await send_all(send, status, REFUSED_AT_ONCE, sentence)
            return
        try:
            body = await self._take_in(scope, receive)
        except TimeoutError:
            await send_all(send, 408, [(b"connection", b"close")], b"")
        except Unfinished:
            return
        else:
            with body.content:
                if body.is_hopeless:
                    await send_all(send, 413, REFUSED_AT_ONCE, b"That is too large to send.")
                    return
                await self._answer(make_environ(scope, body), body.whole, receive, send)

    def close(self) -> None:
        """Take no more requests; what runs ends by itself."""
        self._pool.shutdown(wait=False, cancel_futures=True)

    async def _take_in(self, scope: Message, receive: Callable[..., Any]) -> Body:
        """The body, if there is one and it may weigh what it does."""
        if not has_body(scope):
            return await read_body(None, receive, 0, self._rules)
        length, rules = announced(scope), self._rules
        head = make_environ(scope, Body(cast(IO[bytes], BytesIO()), length))
        decide = partial(asyncio.get_running_loop().run_in_executor, self._pool)
        largest = await decide(rules.largest, head)
        is_long = (largest if length is None else length) > IN_MEMORY
        is_refused = length is not None and length > largest
        is_kept = is_refused or not is_long or await decide(rules.is_wanted, head)
        return await read_body(length, receive, largest, rules, is_kept)

    async def _answer(
        self, environ: dict[str, Any], whole: bool, receive: Callable[..., Any], send: Callable[..., Any]
    ) -> None:
        """Send the answer, as far as the client stays to have it."""
        run, answer, gone = self._runner(), Answer(), _Gone(receive)
        try:
            block = await run(answer.start, self._app, environ)
            headers = [*answer.headers, *([] if whole else [(b"connection", b"close")])]
            await send({"type": "http.response.start", "status": answer.status, "headers": headers})
            while not (answer.finished or gone.has_left()):
                await send({"type": "http.response.body", "body": block, "more_body": True})
                block = await run(answer.next_block)
            await send({"type": "http.response.body", "body": block})
        finally:
            gone.forget()
            if not answer.finished:
                await run(answer.close)

    def _runner(self) -> Callable[..., asyncio.Future[Any]]:
        """Run each piece of one request in a thread, all in one context, as Flask's own needs it."""
        context, loop = contextvars.copy_context(), asyncio.get_running_loop()
        return lambda work, *given: loop.run_in_executor(self._pool, context.run, work, *given)


class _Gone:
    """Whether the client has gone away in the middle of its answer. Short answers never ask."""

    def __init__(self, receive: Callable[..., Any]) -> None:
        self._receive = receive
        self._message: asyncio.Task[Message] | None = None

    def has_left(self) -> bool:
        self._message = self._message or asyncio.ensure_future(self._receive())
        return self._message.done() and self._message.result()["type"] == "http.disconnect"

    def forget(self) -> None:
        if self._message:
            self._message.cancel()


class Answer:
    """One run of a WSGI application: status and headers, then the body block by block."""

    status = 500
    finished = False

    def __init__(self) -> None:
        self.headers: list[tuple[bytes, bytes]] = []
        self._result: Iterable[bytes] = ()
        self._rest: Iterator[bytes] = iter(())
        self._written: list[bytes] = []

    def start(self, app: WSGIApplication, environ: dict[str, Any]) -> bytes:
        """Call the application; its first block."""
        self._result = app(environ, cast(StartResponse, self._start_response))
        self._rest = iter(self._result)
        return self.next_block()

    def next_block(self) -> bytes:
        """What comes next, about BLOCK bytes; with the last one, `finished` is true and the run closed."""
        parts, size = self._written, sum(map(len, self._written))
        self._written = []
        while size < BLOCK:
            part = next(self._rest, None)
            if part is None:
                self.finished = True
                self.close()
                break
            parts.append(part)
            size += len(part)
        return b"".join(parts)

    def close(self) -> None:
        """Let the application tidy up, as PEP 3333 asks."""
        close = getattr(self._result, "close", None)
        if close:
            close()

    def _start_response(
        self, status: str, headers: list[tuple[str, str]], exc_info: Any = None
    ) -> Callable[[bytes], Any]:
        self.status = int(status.split(" ", 1)[0])
        self.headers = [(name.lower().encode("latin-1"), value.encode("latin-1")) for name, value in headers]
        return self._written.append


async def send_all(
    send: Callable[..., Any], status: int, headers: list[tuple[bytes, bytes]], body: bytes
) -> None:
    """A whole answer at once."""
    length = (b"content-length", str(len(body)).encode())
    await send({"type": "http.response.start", "status": status, "headers": [*headers, length]})
    await send({"type": "http.response.body", "body": body})


def announced(scope: Message) -> int | None:
    """The length that the client's headers give its body; uvicorn has checked that it is a number."""
    return next((int(value) for name, value in scope["headers"] if name == b"content-length"), None)


def has_body(scope: Message) -> bool:
    """Whether the headers say that a body follows (RFC 9112, section 6.3)."""
    return any(name in (b"content-length", b"transfer-encoding") for name, _ in scope["headers"])


async def read_body(
    length: int | None, receive: Callable[..., Any], largest: int, rules: BodyRules, is_kept: bool = True
) -> Body:
    """Take the whole body in. Raises Unfinished, and TimeoutError for a client that is silent or too slow."""
    content = cast(IO[bytes], SpooledTemporaryFile(IN_MEMORY))  # noqa: SIM115, whoever gets the Body closes it
    if length is not None and length > largest:
        return Body(content, length, whole=False, is_hopeless=length > MANY_TIMES * largest)
    size, more = 0, True
    loop = asyncio.get_running_loop()
    end = loop.time() + rules.patience + (largest if length is None else length) / rules.slowest
    try:
        while more:
            message = await asyncio.wait_for(receive(), min(rules.patience, end - loop.time()))
            if message["type"] != "http.request":
                raise Unfinished
            block = message.get("body", b"")
            size += content.write(block) if is_kept else len(block)
            more = message.get("more_body", False)
            if size > largest:
                content.seek(0)
                content.truncate()
                return Body(content, size, whole=False)
    except BaseException:
        content.close()
        raise
    content.seek(0)
    return Body(content, size if size or length is not None else None, whole=is_kept)


def make_environ(scope: Message, body: Body) -> dict[str, Any]:
    """The WSGI environment (PEP 3333) of an ASGI request."""
    environ: dict[str, Any] = {
        "REQUEST_METHOD": scope["method"],
        "SCRIPT_NAME": "",
        "PATH_INFO": unquote_to_bytes(scope["raw_path"]).decode("latin-1"),
        "QUERY_STRING": scope["query_string"].decode("latin-1"),
        "SERVER_PROTOCOL": f"HTTP/{scope['http_version']}",
        "SERVER_NAME": scope["server"][0],
        "SERVER_PORT": str(scope["server"][1]),
        "REMOTE_ADDR": (scope["client"] or ("", 0))[0],
        "wsgi.version": (1, 0),
        "wsgi.url_scheme": scope["scheme"],
        "wsgi.input": body.content,
        "wsgi.errors": sys.stderr,
        "wsgi.multithread": True,
        "wsgi.multiprocess": False,
        "wsgi.run_once": False,
    }
    environ.update(header_variables(scope["headers"]))
    if body.length is not None:
        environ["CONTENT_LENGTH"] = str(body.length)
    return environ


def header_variables(headers: Iterable[tuple[bytes, bytes]]) -> dict[str, str]:
    """Headers as WSGI names them. One with an underscore is dropped: it could pass for one with a hyphen."""
    variables: dict[str, str] = {}
    for raw_name, raw_value in headers:
        name, value = raw_name.decode("latin-1").upper(), raw_value.decode("latin-1")
        if "_" in name or name in ("CONTENT-LENGTH", "TRANSFER-ENCODING"):
            continue
        key = "CONTENT_TYPE" if name == "CONTENT-TYPE" else f"HTTP_{name.replace('-', '_')}"
        joint = "; " if name == "COOKIE" else ", "
        variables[key] = f"{variables[key]}{joint}{value}" if key in variables else value
    return variables
