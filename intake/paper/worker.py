"""Rendering in long-lived child processes with limits on time and memory.

A plain child over pipes rather than multiprocessing: spawn would import the parent's `__main__`,
that is the whole web application, into each worker. A deadline is a timer that kills the child, so a
blocked read always comes back. Threads may share one `Press`.
"""

from __future__ import annotations

import atexit
import logging
import os
import subprocess
import sys
import threading
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from typing import Any

from intake.config import PACKAGE
from intake.i18n import _
from intake.paper.errors import BusyError, PangoMissingError, PaperError, TooSlowError
from intake.paper.wire import OUT_OF_MEMORY, read_message, write_message

log = logging.getLogger(__name__)

WORKERS = 2
MEMORY = 1 << 30
SECONDS = 20.0
START_SECONDS = 60.0
WAIT_SECONDS = 60.0


@dataclass(frozen=True)
class File:
    """A text to attach to a document as another form of it; `day` in ISO form."""

    name: str
    description: str
    day: str
    text: str


class _Child:
    """One process of `intake.paper.press`; `dead` once it may not be used again."""

    def __init__(self, memory: int) -> None:
        search = os.pathsep.join(filter(None, (str(PACKAGE.parent), os.environ.get("PYTHONPATH"))))
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-m", "intake.paper.press", str(memory)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": search},
        )
        assert self._process.stdin and self._process.stdout
        self._requests, self._answers = self._process.stdin, self._process.stdout
        self.dead = False

    def start(self, seconds: float) -> None:
        header, _ = self._within(seconds, lambda: read_message(self._answers))
        if "error" in header:
            self.stop()
            raise PangoMissingError() if header.get("pango") else PaperError(header["error"])

    def render(self, html: bytes, files: Sequence[File], seconds: float) -> bytes:
        def exchange() -> tuple[dict[str, Any], bytes] | None:
            write_message(
                self._requests, {"seconds": seconds, "files": [asdict(file) for file in files]}, html
            )
            return read_message(self._answers)

        header, pdf = self._within(seconds, exchange)
        if "error" in header:
            raise PaperError(_("The document could not be made ({error}).", error=header["error"]))
        for line in header["warnings"]:
            log.info("paper: %s", line)
        return pdf

    def _within(self, seconds: float, exchange: Any) -> tuple[dict[str, Any], bytes]:
        """The child's message; TooSlow if the timer killed it, PaperError if it ended by itself."""
        late = threading.Event()

        def kill() -> None:
            late.set()
            self._process.kill()

        timer = threading.Timer(seconds, kill)
        timer.daemon = True
        timer.start()
        try:
            message = exchange()
        except (OSError, ValueError):
            message = None
        except BaseException:
            self.stop()
            raise
        finally:
            timer.cancel()
        if message is not None:
            return message
        self.stop()
        if self._process.returncode == OUT_OF_MEMORY:
            raise PaperError(
                _("The document needed more memory than a document may use. Try it without photos.")
            )
        if late.is_set():
            raise TooSlowError(
                _(
                    "The document was not ready within {seconds} seconds and was given up.",
                    seconds=f"{seconds:g}",
                )
            )
        raise PaperError(_("The process that makes documents ended unexpectedly. Try again."))

    def stop(self) -> None:
        """Kill and reap; safe to call again. The pipes close last: a reader lets go of them at the kill."""
        self.dead = True
        self._process.kill()
        with suppress(subprocess.TimeoutExpired):
            self._process.wait(timeout=5)
        for pipe in (self._requests, self._answers):
            with suppress(OSError, ValueError):
                pipe.close()

    def ended(self) -> bool:
        """Whether the process is gone, by us or by itself."""
        return self.dead or self._process.poll() is not None


class Press:
    """A few workers, started when first needed. Close it, or let the process's end do it."""

    def __init__(self, workers: int = WORKERS, memory: int = MEMORY) -> None:
        self._memory = memory
        self._slots = threading.BoundedSemaphore(workers)
        self._lock = threading.Lock()
        self._idle: list[_Child] = []
        self._all: set[_Child] = set()

    def render(self, html: str, files: Sequence[File] = (), *, seconds: float = SECONDS) -> bytes:
        """The PDF of `html` with `files` attached. Raises PaperError: TooSlow, Busy, PangoMissing."""
        if not self._slots.acquire(timeout=WAIT_SECONDS):
            raise BusyError(_("Too many documents are being made at once. Try again in a minute."))
        try:
            child = self._take()
            try:
                return child.render(html.encode(), files, seconds)
            finally:
                self._give_back(child)
        finally:
            self._slots.release()

    def warm(self) -> None:
        """Start one worker now, so that the first document is quick."""
        self._give_back(self._take())

    def close(self) -> None:
        """Stop every worker, busy or idle. The press may be used again afterwards."""
        with self._lock:
            children, self._all, self._idle = self._all, set(), []
        for child in children:
            child.stop()

    def _take(self) -> _Child:
        with self._lock:
            while self._idle:
                child = self._idle.pop()
                if not child.ended():
                    return child
                self._drop(child)
            child = _Child(self._memory)
            self._all.add(child)
        try:
            child.start(START_SECONDS)
        except PaperError:
            self._give_back(child)
            raise
        return child

    def _drop(self, child: _Child) -> None:
        child.stop()
        self._all.discard(child)

    def _give_back(self, child: _Child) -> None:
        with self._lock:
            if child.ended():
                self._drop(child)
            elif child in self._all:
                self._idle.append(child)


_press = Press()
atexit.register(lambda: _press.close())


def _forget_after_fork() -> None:
    """A forked server process must not share its parent's pipes."""
    global _press
    _press = Press()


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_forget_after_fork)


def press() -> Press:
    """This process's press."""
    return _press
