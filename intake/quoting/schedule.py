"""From jobs with hours, waits and an order to a plan by day, a ready day, its critical chain and slack.

Two clocks run: work takes bench time (`calendar.py`), glue, moisture and finish wait by the wall clock,
nights and closed days included. Jobs are placed in bench order, each as early as what comes before it and
the bench allow; a later job may so fill the wait of an earlier one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from itertools import pairwise

from intake.quoting.calendar import NONE, Bench, Slots, Span
from intake.quoting.critical_path import backward, driving_chain
from intake.quoting.model import Block, Booking, Offer, Stretch

Node = tuple[str, int]
WAIT = -1


@dataclass(frozen=True)
class Schedule:
    """`critical`: the jobs that set the ready day, in order; `slack`: job → open hours it may start later.

    A visit after settling is among the stretches only: the ready day does not wait for it.
    """

    stretches: tuple[Stretch, ...]
    ready: date
    critical: tuple[str, ...] = ()
    slack: Mapping[str, Fraction] = field(default_factory=dict)


@dataclass(frozen=True)
class _Placed:
    """A block in the calendar: the pieces of its work, and when its wait is over."""

    block: Block
    work: tuple[Span, ...]

    @property
    def finish(self) -> datetime:
        return self.work[-1][1] + self.block.wait

    def stretches(self) -> Iterable[Stretch]:
        job, end = self.block.job, self.work[-1][1]
        yield from (Stretch(job, "work", *span) for span in self.work if span[0] < span[1])
        if self.block.wait:
            yield Stretch(job, self.block.wait_kind or "wait", end, self.finish)


def schedule(blocks: Sequence[Block], bench: Bench, start: date) -> Schedule:
    """The blocks, given in an order that `after` allows, from a day on. Raises NeverOpen."""
    here = [block for block in blocks if not block.at_home]
    if not here:
        ready_at = datetime.combine(start, time())
        placed: dict[str, _Placed] = {}
    else:
        placed = _place(here, Slots(bench), bench.first_free(start))
        ready_at = max(one.finish for one in placed.values())
    visits = (stretch for block in blocks if block.at_home for stretch in _visit(block, bench, ready_at))
    stretches = [stretch for one in placed.values() for stretch in one.stretches()]
    stretches.sort(key=lambda stretch: (stretch.start, stretch.end))
    net = _network(placed)
    return Schedule(
        stretches=(*stretches, *visits),
        ready=bench.open_day(ready_at),
        critical=_critical(net, placed),
        slack=_slack(net, placed, bench, ready_at),
    )


def ready_day(blocks: Sequence[Block], bench: Bench, start: date) -> date:
    """The day alone that `schedule` gives. Raises NeverOpen."""
    here = [block for block in blocks if not block.at_home]
    if not here:
        return bench.open_day(datetime.combine(start, time()))
    placed = _place(here, Slots(bench), bench.first_free(start))
    return bench.open_day(max(one.finish for one in placed.values()))


def _place(blocks: Sequence[Block], slots: Slots, begin: datetime) -> dict[str, _Placed]:
    placed: dict[str, _Placed] = {}
    for block in blocks:
        earliest = max((placed[job].finish for job in block.after if job in placed), default=begin)
        work = slots.work(earliest, slots.bench.length(block.hours), block.splits)
        placed[block.job] = _Placed(block, work)
    return placed


def _visit(block: Block, bench: Bench, ready_at: datetime) -> Iterable[Stretch]:
    """The customer takes the instrument home, and comes back for the work."""
    back = ready_at + block.wait
    work = Slots(bench).work(back, bench.length(block.hours), block.splits)
    yield Stretch(block.job, block.wait_kind, ready_at, back)
    yield from _Placed(replace(block, wait=NONE), work).stretches()


def _network(placed: Mapping[str, _Placed]) -> dict[Node, list[Node]]:
    """What waited for what: pieces of work and waits; the bench does one piece after the other."""
    last = {job: (job, WAIT if one.block.wait else len(one.work) - 1) for job, one in placed.items()}
    after: dict[Node, list[Node]] = {}
    for job, one in placed.items():
        after[job, 0] = [last[other] for other in one.block.after if other in placed]
        for piece in range(1, len(one.work)):
            after[job, piece] = [(job, piece - 1)]
        if one.block.wait:
            after[job, WAIT] = [(job, len(one.work) - 1)]
    pieces = [(span, (job, at)) for job, one in placed.items() for at, span in enumerate(one.work)]
    on_bench = sorted((piece for piece in pieces if piece[0][0] < piece[0][1]), key=lambda piece: piece[0])
    for (_, earlier), (_, later) in pairwise(on_bench):
        after[later].append(earlier)
    return after


def _critical(net: Mapping[Node, Sequence[Node]], placed: Mapping[str, _Placed]) -> tuple[str, ...]:
    finish = {(job, at): placed[job].finish if at == WAIT else placed[job].work[at][1] for job, at in net}
    return tuple(dict.fromkeys(job for job, _ in driving_chain(net, finish)))


def _slack(
    net: Mapping[Node, Sequence[Node]], placed: Mapping[str, _Placed], bench: Bench, end: datetime
) -> dict[str, Fraction]:
    """Open hours by which each job may start later, the others keeping their order, to end no later."""

    def latest(node: Node, finish: datetime) -> datetime:
        one, at = placed[node[0]], node[1]
        if at == WAIT:
            return finish - one.block.wait
        start, stop = one.work[at]
        return bench.latest_start(finish, stop - start, not one.block.splits and len(one.work) == 1)

    late = backward(net, end, latest)
    return {job: _hours(bench.open_time(one.work[0][0], late[job, 0][0])) for job, one in placed.items()}


def _hours(length: timedelta) -> Fraction:
    return Fraction(length // timedelta(seconds=1), 3600)


def booked_by(offer: Offer, bench: Bench) -> tuple[Booking, ...]:
    """An accepted offer as bookings: each piece of its work on the day that was planned for it."""
    return tuple(
        Booking(bench.hours(stretch.end - stretch.start), stretch.start.date())
        for stretch in offer.schedule
        if stretch.kind == "work"
    )
