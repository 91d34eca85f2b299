"""The order on the bench: topological by `after`, then by stage, then by place in jobs.csv."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from collections.abc import Set as AbstractSet
from graphlib import CycleError, TopologicalSorter
from heapq import heappop, heappush

from intake.book.model import Book

Links = Mapping[str, set[str]]


def reach(start: str, following: Callable[[str], Iterable[str]]) -> set[str]:
    """All that can be reached from a job by following its links, itself only through a circle."""
    seen: set[str] = set()
    to_see = list(following(start))
    while to_see:
        job = to_see.pop()
        if job not in seen:
            seen.add(job)
            to_see += following(job)
    return seen


def before(jobs: Iterable[str], book: Book) -> dict[str, set[str]]:
    """Job → all jobs of the book that must come before it."""
    return {job: reach(job, lambda other: book.jobs[other].after) - {job} for job in jobs}


def unhindered(earlier: Links, book: Book) -> frozenset[str]:
    """The jobs before which the book has nothing that waits: they can be done in the wait of another."""
    return frozenset(job for job in earlier if not any(book.jobs[other].wait for other in earlier[job]))


def among(jobs: AbstractSet[str], links: Links) -> dict[str, set[str]]:
    """The order between some of the jobs of `links`."""
    return {job: links[job] & jobs for job in jobs}


def contracted(links: Links, owner: Mapping[str, str]) -> dict[str, set[str]]:
    """The order between those that stand alone, when each job is done within its owner."""
    merged: dict[str, set[str]] = {owner[job]: set() for job in links}
    for job, earlier in links.items():
        merged[owner[job]] |= {owner[other] for other in earlier} - {owner[job]}
    return merged


def possible(links: Links) -> bool:
    """Whether the order has no circle."""
    try:
        TopologicalSorter(links).prepare()
    except CycleError:
        return False
    return True


def in_order(links: Links, book: Book) -> tuple[str, ...]:
    """The jobs of `links`, each after its links. Raises graphlib.CycleError."""
    rank = {job: (book.jobs[job].stage, place) for place, job in enumerate(book.jobs)}
    sorter = TopologicalSorter(links)
    sorter.prepare()
    order: list[str] = []
    free: list[tuple[tuple[int, int], str]] = []
    while sorter.is_active():
        for job in sorter.get_ready():
            heappush(free, (rank[job], job))
        _, job = heappop(free)
        order.append(job)
        sorter.done(job)
    return tuple(order)
