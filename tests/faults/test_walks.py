"""What random walks find: values that are nowhere, dropped, invented or replaced unseen; and planted faults.

`python bench/faults.py --only walks` walks, `--plants` proves the walks with each fault put back in turn.
"""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
from faulty.walk import comparison
from faulty.walk.notes import Entry, Notes
from faulty.walk.plants import HERE, PLANTS, Change, Plant, PlantError, plant_change

from intake.store.edits import Row, Standing


def row(id: str, value: str, *base: str, **more: Any) -> Row:
    return Row(id, "t", "relief", value, base, **{"phone": "Front", "fate": "stands", **more})


def standing(row: Row) -> dict[str, Standing]:
    return {row.part: Standing(row.part, row.value, row.by, (row.id,), 1, 1)}


def entry(value: str, *shown: str, page: int = 1) -> Entry:
    return Entry("Front", page, "relief", shown or ("",), value)


def lost(notes: Notes, rows: list[Row], stands: Row) -> list[str]:
    found = comparison.Held(rows, standing(stands), 0, {})
    checks = (comparison.nowhere(notes, rows), comparison.dropped(found))
    more = (comparison.invented(notes, found.by_hand), comparison.unseen(notes, found))
    return [one for check in (*checks, *more) for one in check]


def test_values_that_stand_or_were_replaced_in_sight_are_not_lost() -> None:
    first, second = row("a", "0.010 in"), row("b", "0.012 in", "a")
    notes = Notes([entry("0.010 in"), entry("0.012 in", "0.010 in")])

    assert lost(notes, [first, second], second) == []


def test_a_value_in_no_edit_is_nowhere_unless_its_page_asked() -> None:
    stands = row("a", "0.010 in")
    notes = Notes([entry("0.010 in"), entry("0.014 in", page=2)])

    assert lost(notes, [stands], stands) == ["relief '0.014 in' of Front is nowhere"]
    notes.excuse(2, kept=set())
    assert lost(notes, [stands], stands) == []


def test_a_value_that_nobody_replaced_and_that_does_not_stand_was_dropped() -> None:
    first, second = row("a", "0.010 in"), row("b", "0.012 in")
    notes = Notes([entry("0.010 in"), entry("0.012 in", page=2)])

    assert lost(notes, [first, second], second) == ["relief '0.010 in' was dropped (stands)"]


def test_whoever_said_the_same_has_seen_what_is_replaced() -> None:
    first, same = row("a", "0.010 in"), row("b", "0.010 in", phone="Back", fate="same", same_as="a")
    second = row("c", "0.012 in", "b", phone="Back")
    notes = Notes([entry("0.010 in")])
    for shown, value in (("", "0.010 in"), ("0.010 in", "0.012 in")):
        notes.entries.append(Entry("Back", 2, "relief", (shown,), value))

    assert lost(notes, [first, same, second], second) == []


def test_an_edit_that_no_hand_gave_is_told() -> None:
    first, second = row("a", "0.010 in"), row("b", "", "a")
    notes = Notes([entry("0.010 in")])

    told = lost(notes, [first, second], second)

    assert "relief '' was given by no hand on Front" in told


def test_a_value_replaced_where_it_was_not_in_sight_is_told() -> None:
    first, second = row("a", "0.010 in", phone="Back"), row("b", "0.012 in", "a")
    notes = Notes([Entry("Back", 2, "relief", ("",), "0.010 in"), entry("0.012 in")])

    told = lost(notes, [first, second], second)

    assert told == ["relief '0.012 in' of Front replaces '0.010 in', which it never showed"]


@pytest.mark.parametrize("plant", PLANTS, ids=lambda plant: plant.number)
def test_a_fault_to_be_planted_finds_its_place(plant: Plant, tmp_path: Path) -> None:
    copy_of(plant, tmp_path)

    for change in plant.changes:
        plant_change(plant, change, tmp_path)

    assert all(change.planted in (tmp_path / change.file).read_text("utf-8") for change in plant.changes)


def test_a_plant_that_finds_no_place_says_so(tmp_path: Path) -> None:
    plant = Plant("0", "none", "", (Change("static/js/dom.js", "no such text", ""),))
    copy_of(plant, tmp_path)

    with pytest.raises(PlantError, match="has 0 times, not once: no such text"):
        plant_change(plant, plant.changes[0], tmp_path)


def copy_of(plant: Plant, to: Path) -> None:
    """The files that it changes."""
    for change in plant.changes:
        (to / change.file).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(HERE / change.file, to / change.file)
