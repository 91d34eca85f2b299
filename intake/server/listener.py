"""The listening socket, which lets so many new connections of one network in at once and a second.

Whoever connects anew for every request, or leaves each TLS handshake half done, would keep the event loop
busy with that alone. What is too much is closed as soon as the system hands it over, before TLS and HTTP.
"""

from __future__ import annotations

import socket
import time
from collections.abc import Callable
from typing import Any

NEW_AT_ONCE = 128
"""Twice what one network may hold open."""
NEW_A_SECOND = 30
REMEMBERED = 4096
REFUSED_IN_A_ROW = 64


class Arrivals:
    """New connections of each network: NEW_AT_ONCE, and NEW_A_SECOND more as time goes (a token bucket)."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._spent: dict[str, tuple[float, float]] = {}

    def __len__(self) -> int:
        """How many networks are remembered."""
        return len(self._spent)

    def admit(self, network: str) -> bool:
        """Count one more of that network; False where it had too many. "" is the shop's own proxy."""
        if not network:
            return True
        now = self._clock()
        spent, since = self._spent.pop(network, (0.0, now))
        spent = max(0.0, spent - (now - since) * NEW_A_SECOND)
        admitted = spent + 1 <= NEW_AT_ONCE
        self._spent[network] = (spent + admitted, now)
        if len(self._spent) > REMEMBERED:
            del self._spent[next(iter(self._spent))]  # the one that was silent for longest
        return admitted


class Listener(socket.socket):
    """A listening socket that hands over whom `admits` lets in, by address, and closes the others at once.

    On Windows the system accepts for asyncio, past this `accept`.
    """

    admits: Callable[[str], bool] = staticmethod(lambda address: True)

    def accept(self) -> tuple[socket.socket, Any]:
        for _ in range(REFUSED_IN_A_ROW):
            line, address = super().accept()
            if self.admits(address[0]):
                return line, address
            line.close()
        raise BlockingIOError  # whatever else waits has its turn before the next
