"""The listening socket: how many connections of one network it takes, before TLS and HTTP know of them.

Whoever connects anew for every request, or opens connections whose TLS handshake never comes, would keep the
event loop busy and use up the process's open files. What is too much is closed as soon as the system hands it
over.
"""

from __future__ import annotations

import socket
import time
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from intake.server.connections import MOST_OF_A_NETWORK

NEW_AT_ONCE = 128
"""Twice what one network may hold open."""
NEW_A_SECOND = 30
MOST_HANDSHAKES = 128
"""Connections that HTTP does not know yet: of more, the oldest is closed."""
REMEMBERED = 4096
REFUSED_IN_A_ROW = 64
Peer = tuple[str, int]


class Rate:
    """New connections of each network: NEW_AT_ONCE, and NEW_A_SECOND more as time goes (a token bucket)."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._spent: dict[str, tuple[float, float]] = {}

    def __len__(self) -> int:
        """How many networks are remembered."""
        return len(self._spent)

    def admit(self, network: str) -> bool:
        """Count one more of that network; False where it had too many."""
        now = self._clock()
        spent, since = self._spent.pop(network, (0.0, now))
        spent = max(0.0, spent - (now - since) * NEW_A_SECOND)
        admitted = spent + 1 <= NEW_AT_ONCE
        self._spent[network] = (spent + admitted, now)
        if len(self._spent) > REMEMBERED:
            del self._spent[next(iter(self._spent))]  # the one that was silent for longest
        return admitted


class Accepted(socket.socket):
    """A connection that was taken; `on_close` is called once, when it is closed."""

    on_close: Callable[[], None] | None = None

    def close(self) -> None:
        told, self.on_close = self.on_close, None
        if told:
            told()
        super().close()


class Arrivals:
    """What was accepted of each network, and of that what HTTP does not know yet.

    `network_of` names the network of an address, "" for the shop's own proxy, which has no limits.
    """

    def __init__(self, network_of: Callable[[str], str], rate: Rate | None = None) -> None:
        self._network_of, self._rate = network_of, rate or Rate()
        self._open: Counter[str] = Counter()
        self._handshaking: dict[Peer, Accepted] = {}

    def take(self, line: socket.socket, peer: Peer) -> Accepted | None:
        """The connection, counted until it is closed; None where its network has, or had, enough."""
        network = self._network_of(peer[0])
        if network and (self._open[network] >= MOST_OF_A_NETWORK or not self._rate.admit(network)):
            line.close()
            return None
        accepted = Accepted(line.family, line.type, line.proto, line.detach())
        accepted.on_close = lambda: self._forget(peer, network)
        self._open[network] += 1
        self._handshaking[peer] = accepted
        if len(self._handshaking) > MOST_HANDSHAKES:
            self._drop(next(iter(self._handshaking)))
        return accepted

    def has_shaken_hands(self, peer: Peer) -> None:
        """From now on HTTP watches over that connection."""
        self._handshaking.pop(peer, None)

    def _drop(self, peer: Peer) -> None:
        """Have the event loop see the connection's end, and close it itself."""
        with suppress(OSError):
            self._handshaking.pop(peer).shutdown(socket.SHUT_RDWR)

    def _forget(self, peer: Peer, network: str) -> None:
        self._handshaking.pop(peer, None)
        self._open[network] -= 1
        if not self._open[network]:
            del self._open[network]


class Listener(socket.socket):
    """A listening socket that hands over what its `arrivals` take. On Windows the system accepts for asyncio,
    past this `accept`."""

    arrivals: Arrivals | None = None

    def accept(self) -> tuple[socket.socket, Any]:
        for _ in range(REFUSED_IN_A_ROW):
            line, address = super().accept()
            taken = self.arrivals.take(line, address[:2]) if self.arrivals else line
            if taken:
                return taken, address
        raise BlockingIOError  # whatever else waits has its turn before the next
