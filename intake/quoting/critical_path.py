"""The critical path of jobs as a network, activity on node: forward and backward pass, slack, chain.

The passes know nothing of what time is made of: they are handed functions that say when an activity ends
if it starts at a moment, and when it must start to end by one. `critical_path` is the textbook case, where
time is a number; `schedule.py` hands in the shop's calendar.

Method: J. E. Kelley, M. R. Walker, Critical-Path Planning and Scheduling, Proc. Eastern Joint Computer
Conference, 1959 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from graphlib import TopologicalSorter
from typing import Any, Protocol, TypeVar


class Moment(Protocol):
    """A point in time: anything that can be compared."""

    def __lt__(self, other: Any, /) -> bool: ...


A = TypeVar("A", bound=Hashable)
T = TypeVar("T", bound=Moment)
After = Mapping[A, Collection[A]]


@dataclass(frozen=True)
class Times:
    """When an activity can start and finish at the earliest, and when it must at the latest."""

    start: Fraction
    finish: Fraction
    latest_start: Fraction
    latest_finish: Fraction

    @property
    def slack(self) -> Fraction:
        """How much later it may start without making the whole later."""
        return self.latest_start - self.start


def forward(after: After[A], begin: T, finish: Callable[[A, T], T]) -> dict[A, tuple[T, T]]:
    """Earliest start and finish of each activity of `after` (activity → those before it).

    Raises graphlib.CycleError.
    """
    times: dict[A, tuple[T, T]] = {}
    for activity in TopologicalSorter(after).static_order():
        start = max((times[other][1] for other in after.get(activity, ())), default=begin)
        times[activity] = start, finish(activity, start)
    return times


def backward(after: After[A], end: T, start: Callable[[A, T], T]) -> dict[A, tuple[T, T]]:
    """Latest start and finish of each activity, if all is to be done by `end`. Raises graphlib.CycleError."""
    following: dict[A, list[A]] = {}
    for activity, earlier in after.items():
        for other in earlier:
            following.setdefault(other, []).append(activity)
    times: dict[A, tuple[T, T]] = {}
    for activity in reversed(tuple(TopologicalSorter(after).static_order())):
        finish = min((times[other][0] for other in following.get(activity, ())), default=end)
        times[activity] = start(activity, finish), finish
    return times


def critical_path(durations: Mapping[A, Fraction], after: After[A]) -> dict[A, Times]:
    """Earliest and latest times from 0 on; activities that `after` does not name come after nothing.

    Raises graphlib.CycleError, KeyError for an activity without a duration.
    """
    links = {activity: after.get(activity, ()) for activity in durations}
    early = forward(links, Fraction(0), lambda activity, start: start + durations[activity])
    end = max((finish for _, finish in early.values()), default=Fraction(0))
    late = backward(links, end, lambda activity, finish: finish - durations[activity])
    return {activity: Times(*early[activity], *late[activity]) for activity in durations}


def driving_chain(after: After[A], finish: Mapping[A, T]) -> tuple[A, ...]:
    """The chain that sets the end: from the activity that ends last, always back to whatever it waited for.

    Without closed hours these are the activities without slack (the first such chain if there are several).
    """
    chain: list[A] = []
    waited_for: Collection[A] = tuple(finish)
    while waited_for:
        chain.append(max(waited_for, key=lambda activity: finish[activity]))
        waited_for = after.get(chain[-1], ())
    return tuple(reversed(chain))
