"""Entries of whole steps are taken over as edits: what stood stands, and nothing that was said is gone."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from intake.config import demo_book
from intake.services.edits import part_until
from intake.services.walkins import walkin_from
from intake.store import books, edits
from intake.store.db import Store, connect
from intake.store.migrations.every import MIGRATIONS
from intake.store.step_conversion import FIRST
from tests.memo import sample_book

TICKET = "t-1"
Say = Callable[..., None]


@pytest.fixture
def before(tmp_path: Path) -> Iterator[sqlite3.Connection]:
    """A store as it was before there were edits, with the demo's book and one ticket."""
    folder = tmp_path / "shop"
    folder.mkdir()
    db = connect(folder / "tallyfret.db")
    MIGRATIONS.apply(db, stop_before="edits")
    moment = "2026-11-25T15:00:00.000Z"
    db.table("books").insert({"digest": "d", "folder": books.packed(demo_book()), "loaded_at": moment})
    ticket = {"id": TICKET, "number": 1, "created": moment, "updated": moment, "state": "started"}
    blank = dict.fromkeys(("name", "phone", "family", "serial", "language"), "")
    db.table("tickets").insert({**ticket, **blank})
    yield db
    db.close()


@pytest.fixture
def say(before: Any) -> Say:
    """`say("neck", 1, [("relief", "0.008 in")])`: a revision of a step, a minute after the one before."""
    minutes = iter(range(60))

    def insert(step: str, revision: int, fields: list[tuple[str, str]], passed: str = "") -> None:
        at = f"2026-11-25T15:{next(minutes):02}:00.000Z"
        entry = {"ticket": TICKET, "step": step, "revision": revision, "fields": json.dumps(fields)}
        before.table("steps").insert({**entry, "passed": passed, "device": "a", "saved_at": at})

    return insert


@pytest.fixture
def opened(before: Any, tmp_path: Path) -> Iterator[Callable[[], Store]]:
    stores: list[Store] = []

    def open_store() -> Store:
        stores.append(Store(tmp_path / "shop"))
        return stores[-1]

    yield open_store
    for store in stores:
        store.close()


def held(store: Store) -> dict[str, str]:
    return {part: one.value for part, one in edits.standing(store.db, TICKET).items() if one.value}


def test_the_newest_revisions_stand_part_by_part(say: Say, opened: Any) -> None:
    say("neck", 1, [("relief", "0.008 in"), ("twist", "none")])
    say("neck", 2, [("relief", "0.010 in"), ("twist", "none")])
    say(
        "frets",
        1,
        [("loose_frets", "3"), ("loose_frets", "7"), ("fret_wear.3", "0.006 in"), ("buzz_at", "6/2")],
    )
    say("player", 1, [("complaints", "buzz")], passed="all_sound")

    store = opened()

    assert held(store) == {
        "relief": "0.010 in",
        "twist": "none",
        "loose_frets/3": "yes",
        "loose_frets/7": "yes",
        "fret_wear/3": "0.006 in",
        "buzz_at/6-2": "6/2",
        "complaints/buzz": "yes",
        "passed.player": "all_sound",
    }


def test_every_value_that_was_ever_said_is_an_edit_on_top_of_the_one_before(say: Say, opened: Any) -> None:
    for revision, relief in enumerate(("0.008 in", "0.010 in", "0.012 in"), 1):
        say("neck", revision, [("relief", relief)])
    say("neck", 4, [])

    rows = edits.of_part(opened().db, TICKET, "relief")

    assert [row.value for row in rows] == ["0.008 in", "0.010 in", "0.012 in", ""]
    assert [row.base for row in rows] == [(), *((row.id,) for row in rows[:-1])]
    assert all(row.at > FIRST for row in rows)


def test_an_entry_that_waits_in_a_clash_waits_as_an_edit(before: Any, say: Say, opened: Any) -> None:
    say("neck", 1, [("relief", "0.008 in"), ("twist", "none")])
    clash = {"ticket": TICKET, "step": "neck", "revision": 1, "based_on": 0, "passed": "", "device": "b"}
    fields = json.dumps([("relief", "0.012 in"), ("twist", "none")])
    times = {"saved_at": "2026-11-25T16:00:00.000Z", "settled_at": ""}
    before.table("clashes").insert({**clash, **times, "fields": fields})

    store = opened()

    part = edits.standing(store.db, TICKET)["relief"]
    assert [row.value for row in edits.by_ids(store.db, part.heads).values()] == ["0.008 in", "0.012 in"]
    assert held(store) == {"twist": "none"}


def test_a_clash_that_was_settled_is_closed_and_its_entry_stays(before: Any, say: Say, opened: Any) -> None:
    say("neck", 1, [("relief", "0.008 in")])
    clash = {"ticket": TICKET, "step": "neck", "revision": 1, "based_on": 0, "passed": "", "device": "b"}
    times = {"saved_at": "2026-11-25T16:00:00.000Z", "settled_at": "2026-11-25T17:00:00.000Z"}
    before.table("clashes").insert({**clash, **times, "fields": json.dumps([("relief", "0.012 in")])})

    store = opened()

    assert held(store) == {"relief": "0.008 in"}
    assert store.db.table("clashes").count == store.db.table("steps").count == 1


def test_a_question_that_moved_to_another_step_keeps_what_was_said_last(say: Say, opened: Any) -> None:
    say("neck", 1, [("relief", "0.008 in")])
    say("action", 1, [("relief", "0.012 in")])
    say("neck", 2, [("twist", "none")])

    assert held(opened()) == {"relief": "0.012 in", "twist": "none"}


def test_the_walk_in_is_the_same_as_from_the_entries(say: Say, opened: Any) -> None:
    book = sample_book()
    say("instrument", 1, [("family", "steel-string"), ("bridge_kind", "pin")])
    say("strings-and-room", 1, [("gauges", ".012"), ("gauges", ".016")])
    say("cracks-and-braces", 1, [("pins.1.part", "top"), ("pins.1.kind", "crack"), ("pins.2.part", "back")])
    say("originality-and-photos", 1, [("original.bridge", "original")])
    say("frets", 1, [("fret_wear", "none")])
    say("neck", 1, [], passed="all_sound")

    walkin = walkin_from(book, edits.standing(opened().db, TICKET).values())

    assert walkin.answers["gauges"] == [".012", ".016"]
    assert [{k: v for k, v in pin.items() if k != "id"} for pin in walkin.answers["pins"]] == [
        {"kind": "crack", "part": "top"},
        {"part": "back"},
    ]
    assert walkin.answers["original"] == {"bridge": "original"}
    assert walkin.answers["fret_wear"] == "none"
    assert "twist" in walkin.by_eye


def test_what_stands_is_what_its_edits_make(say: Say, opened: Any) -> None:
    say("neck", 1, [("relief", "0.008 in")])
    say("neck", 2, [])
    say("neck", 3, [("relief", "0.008 in")])
    store = opened()

    for part, one in edits.standing(store.db, TICKET).items():
        made = part_until(store.db, TICKET, part)
        assert (made.value, tuple(head.id for head in made.heads)) == (one.value, one.heads)


def test_a_quote_knows_which_answers_it_had(before: Any, say: Say, opened: Any) -> None:
    say("neck", 1, [("relief", "0.008 in")])
    text = dict.fromkeys(("app_version", "walkin", "quote", "exact", "pdf_sha256", "pdf_file"), "{}")
    quote = {"ticket": TICKET, "revision": 1, "made_at": "2026-11-25T15:00:30.000Z", "book_digest": "d"}
    before.table("quotes").insert({**text, **quote})
    say("neck", 2, [("relief", "0.010 in")])

    store = opened()

    (version,) = store.db.execute("select version from quotes").fetchone()
    assert version == edits.of_part(store.db, TICKET, "relief")[0].at


def test_without_a_book_the_names_tell_what_they_are(before: Any, say: Say, opened: Any) -> None:
    before.table("books").update("d", {"folder": b"broken"})
    say("neck", 1, [("relief", "0.008 in"), ("original.bridge", "original"), ("pins.1.part", "top")])
    say("player", 1, [("complaints", "buzz"), ("complaints", "rattle")])

    assert held(opened()) == {
        "relief": "0.008 in",
        "original/bridge": "original",
        "pins/1": '{"part": "top"}',
        "complaints/buzz": "yes",
        "complaints/rattle": "yes",
    }
