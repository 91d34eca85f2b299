"""The listening socket: how many connections of one network it takes, before TLS and HTTP know of them.

Whoever connects anew for every request, or opens connections whose TLS handshake never comes, would keep the
event loop busy and use up the process's open files. What is too much is closed as soon as the system hands it
over.
"""

from __future__ import annotations

import errno
import socket
import time
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from intake.server.connections import MOST_OF_A_NETWORK

BACKLOG = 128
NEW_AT_ONCE = 128
"""Twice what one network may hold open."""
NEW_A_SECOND = 30
MOST_HANDSHAKES = 128
"""Connections that HTTP does not know yet: of more, the oldest is closed."""
REMEMBERED = 4096
REFUSED_IN_A_ROW = 64
Peer = tuple[str, int]


class ServerError(Exception):
    """Why the server cannot start: one sentence for whoever starts it."""


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


def listen(host: str, port: int) -> Listener:
    """A socket that listens there. Raises ServerError, with what can be done about it."""
    listener = None
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)
        family, kind, protocol, _, address = min(found, key=lambda entry: entry[0] != socket.AF_INET)
        # Named as TCP, or asyncio leaves Nagle's delay on and answers wait 40 ms for an acknowledgement.
        listener = Listener(family, kind, protocol or socket.IPPROTO_TCP)
        exclusive = getattr(socket, "SO_EXCLUSIVEADDRUSE", None)  # Windows: there, REUSEADDR shares the port
        listener.setsockopt(socket.SOL_SOCKET, exclusive or socket.SO_REUSEADDR, 1)
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
        listener.bind(address)
        listener.listen(BACKLOG)
    except OSError as error:
        if listener:
            listener.close()
        raise ServerError(_why_not(error, host, port)) from error
    return listener


def _why_not(error: OSError, host: str, port: int) -> str:
    if error.errno == errno.EADDRINUSE:
        return f"Port {port} is taken by another program; stop it, or choose another with --port."
    if error.errno == errno.EACCES:
        return f"Port {port} may not be used by this user; choose one above 1023 with --port."
    if isinstance(error, socket.gaierror) or error.errno == errno.EADDRNOTAVAIL:
        return f"This machine has no address {host}; choose one of its own."
    return f"Cannot listen on {host}, port {port}: {error.strerror or error}."
