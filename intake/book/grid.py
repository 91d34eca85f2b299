"""A decision table as boxes over the pieces of its facts' domains: gaps, overlaps, rows that never fire."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from intake.book.partition import Box, Domain, covers, cut, meet, pieces_held, uncovered
from intake.book.tables import Table

Conditions = Mapping[str, Mapping[str, Callable[[Any], bool]]]
MISSING = None


@dataclass(frozen=True)
class Grid:
    """`samples` of each axis end with MISSING, which only a dash accepts; `room` leaves it out.

    `ruled_out` are boxes that cannot happen, such as an answer to a question that is not asked.
    """

    ids: tuple[str, ...]
    samples: tuple[tuple[Any, ...], ...]
    boxes: tuple[Box, ...]
    room: Box
    ruled_out: tuple[Box, ...] = ()

    def gaps(self, most: int = 3) -> Iterator[Box]:
        """Combinations of present facts that no row covers, as boxes that do not meet. Raises Undecided."""
        taken = [*self.boxes, *self.ruled_out]
        while most and (gap := uncovered(self.room, taken)):
            yield gap
            taken.append(gap)
            most -= 1

    def overlaps(self) -> Iterator[tuple[int, int, Box]]:
        """Pairs of rows that apply together, with where. May raise Undecided."""
        for later, box in enumerate(self.boxes):
            for earlier in range(later):
                shared = meet(self.boxes[earlier], box)
                happens = shared and uncovered(shared, self.ruled_out)
                if happens:
                    yield earlier, later, happens

    def never_happening(self) -> Iterator[int]:
        """Rows whose cells cannot hold together. May raise Undecided."""
        for number, box in enumerate(self.boxes):
            if covers(self.ruled_out, box):
                yield number

    def shadowed(self) -> Iterator[int]:
        """Rows that the rows before them cover wholly, missing facts included. May raise Undecided."""
        for number, box in enumerate(self.boxes):
            before = [*self.ruled_out, *self.boxes[:number]]
            if not covers(self.ruled_out, box) and covers(before, box):
                yield number

    def example(self, box: Box) -> dict[str, Any]:
        """One combination of facts inside a box: the middle piece of each axis that the box narrows."""
        return {
            id: samples[_middle(mask)]
            for id, samples, mask, whole in zip(self.ids, self.samples, box, self._whole, strict=True)
            if mask & self.room_of(id) != self.room_of(id) or mask == whole == 0
        }

    def room_of(self, id: str) -> int:
        return self.room[self.ids.index(id)]

    @property
    def _whole(self) -> Box:
        return tuple((1 << len(samples)) - 1 for samples in self.samples)


def _middle(mask: int) -> int:
    held = [at for at in range(mask.bit_length()) if mask >> at & 1]
    return held[(len(held) - 1) // 2]


def grid_of(table: Table, domains: Mapping[str, Domain], conditions: Conditions | None = None) -> Grid:
    """The table over its facts' domains; a column whose fact has no domain is left out.

    `conditions` say when a fact can be there at all: fact → other fact → what the other must be.
    May raise Undecided.
    """
    columns: dict[str, list[int]] = {}
    for at, column in enumerate(table.inputs):
        if column.id in domains:
            columns.setdefault(column.id, []).append(at)
    samples = tuple(
        (*cut(domains[id], [row.tests[at] for row in table.rows for at in places]), MISSING)
        for id, places in columns.items()
    )
    boxes = tuple(
        tuple(
            _held(samples[axis], [row.tests[at] for at in places])
            for axis, places in enumerate(columns.values())
        )
        for row in table.rows
    )
    room = tuple((1 << len(each) - 1) - 1 for each in samples)
    ids = tuple(columns)
    ruled_out = (*_ruled_out(ids, samples, conditions or {}), *_beyond(ids, samples, table))
    return Grid(ids, samples, boxes, room, ruled_out)


def _held(samples: Sequence[Any], cells: Sequence[Any]) -> int:
    mask = (1 << len(samples)) - 1
    for tests in cells:
        if not tests.is_any:
            mask &= pieces_held(samples, tests)
    return mask


def _beyond(ids: tuple[str, ...], samples: tuple[tuple[Any, ...], ...], table: Table) -> Iterator[Box]:
    """Where the table's scope ends."""
    for id, tests in table.scope.items():
        if id in ids:
            axis = ids.index(id)
            box = [(1 << len(each)) - 1 for each in samples]
            box[axis] &= ~pieces_held(samples[axis], tests)
            yield tuple(box)


def _ruled_out(
    ids: tuple[str, ...], samples: tuple[tuple[Any, ...], ...], conditions: Conditions
) -> Iterator[Box]:
    whole = [(1 << len(each)) - 1 for each in samples]
    for axis, id in enumerate(ids):
        for other, allows in conditions.get(id, {}).items():
            if other in ids:
                at = ids.index(other)
                box = list(whole)
                box[axis] >>= 1
                box[at] &= sum(
                    1 << n for n, s in enumerate(samples[at]) if s is not MISSING and not allows(s)
                )
                yield tuple(box)
