"""Work that costs much: a few at a time and a short queue, so that other answers always find a thread."""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable, Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from typing import Generic, TypeVar

Result = TypeVar("Result")


class OverloadedError(Exception):
    """As much of this work is under way and waiting as may be: to be asked for again in a moment."""


class BoundedWork:
    """At most `running` blocks at once, and `waiting` more that wait for their turn."""

    def __init__(self, running: int, waiting: int) -> None:
        self.most = running + waiting
        self._places = threading.BoundedSemaphore(running + waiting)
        self._turns = threading.BoundedSemaphore(running)

    @contextmanager
    def turn(self) -> Iterator[None]:
        """Run the block when it is its turn. Raises OverloadedError at once where too many wait."""
        if not self._places.acquire(blocking=False):
            raise OverloadedError
        try:
            with self._turns:
                yield
        finally:
            self._places.release()


class SingleFlight(Generic[Result]):
    """Calls for the same result at the same time: the first makes it, the others wait, `waiting` at most."""

    def __init__(self, waiting: int) -> None:
        self.most = waiting
        self._places = threading.BoundedSemaphore(waiting)
        self._flights: dict[Hashable, Future[Result]] = {}
        self._lock = threading.Lock()

    def run(self, key: Hashable, make: Callable[[], Result]) -> Result:
        """What `make` returns, or what it returns to the call that is making it already, errors alike.

        Raises OverloadedError where too many wait.
        """
        with self._lock:
            flight = self._flights.get(key)
            own: Future[Result] = Future()
            if flight is None:
                self._flights[key] = own
        if flight is not None:
            return self._result_of(flight)
        try:
            own.set_result(make())
        except BaseException as error:
            own.set_exception(error)
        finally:
            with self._lock:
                del self._flights[key]
        return own.result()

    def _result_of(self, flight: Future[Result]) -> Result:
        if not self._places.acquire(blocking=False):
            raise OverloadedError
        try:
            return flight.result()
        finally:
            self._places.release()
