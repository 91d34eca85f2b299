"""Exact questions about decision tables: what no row covers, what several cover, what never fires.

Each fact's domain is cut into pieces on which every test of its column is constant, so that one sample
stands for its whole piece: for numbers the ends that the tests name and the open stretches between
them; for choices each choice; for lists each pattern of tests that some list meets. A row is then a
box, a set of pieces for each fact, and the questions are about boxes. Facts are taken as independent
of each other, but for what the caller rules out, and as present: a missing fact is no gap.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor
from typing import Any

from intake.book.sfeel import Interval, UnaryTests

MOST_STATES = 200_000
MOST_LISTS = 4096
OTHER_WORDS = "…"

Box = tuple[int, ...]


class Undecided(Exception):
    """The table has more combinations than can be gone through."""


@dataclass(frozen=True)
class Domain:
    """What a fact can be. `values` for choices and truth values; else numbers, or free words.

    `whole` numbers count. `many`: the fact is a list of such values, and `alone` (the answer `none`)
    stands in a list by itself. `or_none`: a list of numbers may be that answer instead.
    """

    values: tuple[str | bool, ...] | None = None
    numbers: bool = False
    low: Fraction | None = None
    high: Fraction | None = None
    whole: bool = False
    many: bool = False
    alone: str = "none"
    or_none: bool = False


def cut(domain: Domain, tests: Iterable[UnaryTests]) -> tuple[Any, ...]:
    """Samples of the domain, one for each piece on which all these tests are constant, in order.

    Raises Undecided for a list whose tests make too many patterns.
    """
    tests = tuple(dict.fromkeys(tests))
    if domain.values is not None:
        samples: tuple[Any, ...] = domain.values
    elif domain.numbers:
        samples = (*_numbers(domain, tests), *((domain.alone,) if domain.or_none else ()))
    else:
        named = (end for cell in tests for test in cell.tests for end in test.ends() if isinstance(end, str))
        samples = (*dict.fromkeys(named), OTHER_WORDS)
    return tuple(_lists(domain, samples, tests)) if domain.many else samples


def _numbers(domain: Domain, tests: Iterable[UnaryTests]) -> Iterator[Fraction]:
    named = {
        end for cell in tests for test in cell.tests if isinstance(test, Interval) for end in test.ends()
    }
    ends = sorted({*(end for end in named if _within(domain, end)), *_bounds(domain)})
    if not ends:
        yield Fraction(0)
        return
    between: list[Fraction | None] = (
        [None] if domain.low is not None else [_inside(None, ends[0], domain.whole)]
    )
    between += [_inside(low, high, domain.whole) for low, high in pairwise(ends)]
    for stretch, end in zip(between, ends, strict=True):
        if stretch is not None:
            yield stretch
        if not domain.whole or end.denominator == 1:
            yield end
    if domain.high is None:
        yield floor(ends[-1]) + Fraction(1)


def _bounds(domain: Domain) -> tuple[Fraction, ...]:
    return tuple(end for end in (domain.low, domain.high) if end is not None)


def _within(domain: Domain, value: Fraction) -> bool:
    above = domain.low is None or value >= domain.low
    return above and (domain.high is None or value <= domain.high)


def _inside(low: Fraction | None, high: Fraction, whole: bool) -> Fraction | None:
    """The number between two others, both left out, with the fewest decimals; None if none is whole."""
    if low is None:
        return ceil(high) - Fraction(1)
    step = Fraction(1)
    while True:
        value = (floor(low / step) + 1) * step
        if value < high:
            middle = round((low + high) / 2 / step) * step
            return middle if low < middle < high else value
        if whole:
            return None
        step /= 10


def _lists(domain: Domain, samples: Sequence[Any], tests: Sequence[UnaryTests]) -> Iterator[tuple[Any, ...]]:
    """One list for each pattern of tests that some list meets, the shortest first.

    A list meets a test if an item does, so its pattern is the union of its items' patterns.
    """
    positive = [UnaryTests("", cell.tests) for cell in tests]
    patterns = {item: sum(cell.holds(item) << at for at, cell in enumerate(positive)) for item in samples}
    found: dict[int, tuple[Any, ...]] = {}
    for item in samples:
        found.setdefault(patterns[item], (item,))
    joining = {pattern: item for item, pattern in patterns.items() if item != domain.alone}
    waiting = [items for items in found.values() if items != (domain.alone,)]
    waiting += [(item,) for pattern, item in joining.items() if found[pattern] == (domain.alone,)]
    for items in waiting:
        held = _union(patterns[item] for item in items)
        for pattern, item in joining.items():
            if held | pattern not in found:
                found[held | pattern] = (*items, item)
                waiting.append(found[held | pattern])
        if len(found) > MOST_LISTS:
            raise Undecided
    yield from found.values()


def _union(patterns: Iterable[int]) -> int:
    total = 0
    for pattern in patterns:
        total |= pattern
    return total


def pieces_held(samples: Sequence[Any], tests: UnaryTests) -> int:
    """The pieces on which a cell holds, as bits."""
    return sum(1 << at for at, sample in enumerate(samples) if tests.holds(sample))


def meet(one: Box, other: Box) -> Box | None:
    """What two boxes share, or None."""
    shared = tuple(a & b for a, b in zip(one, other, strict=True))
    return shared if all(shared) else None


def uncovered(room: Box, boxes: Sequence[Box]) -> Box | None:
    """A largest box inside `room` that none of the boxes touches; None if they cover it.

    Raises Undecided.
    """
    met = _met(room, boxes)
    point = _point(room, met)
    return None if point is None else _grown(room, point, met)


def covers(boxes: Sequence[Box], room: Box) -> bool:
    """Whether the boxes leave nothing of `room`. Raises Undecided."""
    return _point(room, _met(room, boxes)) is None


def _met(room: Box, boxes: Sequence[Box]) -> list[Box]:
    return [shared for box in boxes if (shared := meet(room, box))]


def _point(room: Box, met: Sequence[Box]) -> Box | None:
    """A combination of single pieces inside `room` that no box holds, or None."""
    if not all(room) or room in met:
        return None
    order = sorted(range(len(room)), key=lambda axis: room[axis].bit_count())
    found = _Search(
        tuple(room[axis] for axis in order), [tuple(box[axis] for axis in order) for box in met]
    ).point()
    if found is None:
        return None
    placed = dict(zip(order, found, strict=True))
    return tuple(placed[axis] for axis in range(len(room)))


class _Search:
    """Goes down the axes with the boxes still in play; the same boxes at the same axis are asked once."""

    def __init__(self, room: Box, boxes: Sequence[Box]) -> None:
        self.room = [[1 << at for at in range(mask.bit_length()) if mask >> at & 1] for mask in room]
        self.held = [
            {
                piece: sum(1 << number for number, box in enumerate(boxes) if box[axis] & piece)
                for piece in pieces
            }
            for axis, pieces in enumerate(self.room)
        ]
        whole = [
            sum(1 << number for number, box in enumerate(boxes) if box[axis] == mask)
            for axis, mask in enumerate(room)
        ]
        self.rest_whole = [(1 << len(boxes)) - 1]
        for rows in reversed(whole):
            self.rest_whole.insert(0, self.rest_whole[0] & rows)
        self.covered: set[tuple[int, int]] = set()

    def point(self) -> tuple[int, ...] | None:
        return self._from(0, self.rest_whole[-1])

    def _from(self, axis: int, live: int) -> tuple[int, ...] | None:
        if live & self.rest_whole[axis] or (axis, live) in self.covered:
            return None
        if not live:
            return tuple(pieces[0] for pieces in self.room[axis:])
        for piece in self.room[axis]:
            rest = self._from(axis + 1, live & self.held[axis][piece])
            if rest is not None:
                return (piece, *rest)
        self.covered.add((axis, live))
        if len(self.covered) > MOST_STATES:
            raise Undecided
        return None


def _grown(room: Box, point: Box, boxes: Sequence[Box]) -> Box:
    box = list(point)
    for axis, mask in enumerate(room):
        for at in range(mask.bit_length()):
            wider = (*box[:axis], box[axis] | (1 << at & mask), *box[axis + 1 :])
            if not any(meet(wider, other) for other in boxes):
                box[axis] = wider[axis]
    return tuple(box)
