"""HTTP/1.1 on one connection, with an end to waiting: for headers, and for whoever reads no answer."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

from intake.server.connections import Connections
from intake.server.listener import Arrivals
from intake.web.origin import network_of

HEADER_PATIENCE = 20
READING_PATIENCE = 30


class LimitedProtocol(H11Protocol):
    """uvicorn's HTTP/1.1, which has no limit on how many connections one client holds, nor on how long it may
    take over its headers and over reading an answer."""

    _waiting: asyncio.TimerHandle | None = None
    _reading: asyncio.TimerHandle | None = None

    def __init__(
        self, connections: Connections, arrivals: Arrivals, is_proxy: Callable[[str], bool], **given: Any
    ) -> None:
        super().__init__(**given)
        self._all, self._arrivals, self._is_proxy = connections, arrivals, is_proxy

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._arrivals.has_shaken_hands(self.client or ("", 0))
        address = self.client[0] if self.client else ""
        if self._all.enter(self, "" if self._is_proxy(address) else network_of(address)):
            self._watch_headers()
        else:
            transport.abort()

    def data_received(self, data: bytes) -> None:
        self._all.used(self)
        super().data_received(data)
        self._watch_headers()

    def connection_lost(self, exc: Exception | None) -> None:
        self._forget()
        self._read_on()
        self._all.leave(self)
        super().connection_lost(exc)

    def pause_writing(self) -> None:
        super().pause_writing()
        if self._reading is None:
            self._reading = self.loop.call_later(READING_PATIENCE, self.transport.abort)

    def resume_writing(self) -> None:
        super().resume_writing()
        self._read_on()

    def is_idle(self) -> bool:
        return self.conn.their_state is h11.IDLE and (self.cycle is None or self.cycle.response_complete)

    def is_waiting(self) -> bool:
        return self.is_idle() or self._reading is not None or self.conn.their_state is h11.SEND_BODY

    def drop(self) -> None:
        self.transport.abort()

    def _read_on(self) -> None:
        if self._reading:
            self._reading.cancel()
        self._reading = None

    def _watch_headers(self) -> None:
        if self.conn.their_state is not h11.IDLE:
            self._forget()
        elif self._waiting is None:
            self._waiting = self.loop.call_later(HEADER_PATIENCE, self.transport.close)

    def _forget(self) -> None:
        if self._waiting:
            self._waiting.cancel()
        self._waiting = None
