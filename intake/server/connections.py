"""Who is connected: so many from one network at most, and when every place is taken, whoever keeps the shop
waiting gives way.

Against clients that hold connections open without a request, or with one that never ends (slow HTTP attacks):
a few hundred sockets of some machines would keep everybody out.
"""

from __future__ import annotations

from collections import Counter
from typing import Protocol

MOST_OF_A_NETWORK = 64
"""A browser opens six at a time."""


class Connection(Protocol):
    """What is known of an open connection."""

    def is_idle(self) -> bool:
        """Whether no request is under way."""
        ...

    def is_waiting(self) -> bool:
        """Whether the shop waits for the client: for a request or the rest of one, or to read its answer."""
        ...

    def drop(self) -> None:
        """Close it at once."""
        ...


class Connections:
    """The open connections in the order in which they last had a request, with the network of each."""

    def __init__(self, most: int, most_of_a_network: int = MOST_OF_A_NETWORK) -> None:
        self._most, self._most_of_a_network = most, most_of_a_network
        self._open: dict[Connection, str] = {}
        self._counts: Counter[str] = Counter()

    def enter(self, connection: Connection, network: str) -> bool:
        """Take the connection in; False where its network has enough, or nobody gives way.

        The network "" is the shop's own proxy, which asks for everybody.
        """
        if network and self._counts[network] >= self._most_of_a_network:
            return False
        if len(self._open) >= self._most and not self._make_room(network):
            return False
        self._open[connection] = network
        self._counts[network] += 1
        return True

    def leave(self, connection: Connection) -> None:
        """Forget a connection that is closed; nothing for one that was not taken in."""
        network = self._open.pop(connection, None)
        if network is not None:
            self._counts[network] -= 1
            if not self._counts[network]:
                del self._counts[network]

    def used(self, connection: Connection) -> None:
        """It has a request: of the idle ones it is the last to give way."""
        if connection in self._open:
            self._open[connection] = self._open.pop(connection)

    def _make_room(self, network: str) -> bool:
        """Drop the one that had no request for longest, of the network with the most connections.

        An idle one, else one that keeps the shop waiting, if its network has more than the one that asks; of
        the proxy any.
        """
        found = [one for one in self._open if one.is_idle()] or [
            one for one in self._open if one.is_waiting() and self._gives_way(self._open[one], network)
        ]
        if not found:
            return False
        largest = max(found, key=lambda one: self._counts[self._open[one]])
        self.leave(largest)
        largest.drop()
        return True

    def _gives_way(self, network: str, to: str) -> bool:
        return not network or self._counts[network] > self._counts[to] + 1
