"""Finding tickets by what was written down."""

from __future__ import annotations

import sqlite3
from datetime import datetime
from uuid import uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.store import edits, search, tickets
from intake.store.db import Store
from intake.store.search import folded, query, telephone


def open_one(
    store: Store, now: datetime, *said: tuple[str, str], name: str = "", phone: str = "", serial: str = ""
) -> int:
    id = str(uuid4())
    with store.writing() as db:
        tickets.ensure(db, id, now)
        for number, (part, value) in enumerate(said, 1):
            edits.stand(db, id, edits.Standing(part, value, "hand", (f"e-{number}",), number, number))
        tickets.change(db, id, now, name=name, phone=phone, serial=serial)
    found = tickets.find(store.db, id)
    assert found is not None
    return found.number


def found(store: Store, words: str) -> list[int]:
    return [ticket.number for ticket in tickets.board(store.db, words)]


@pytest.mark.parametrize(
    "words",
    [
        "zoe lunde",
        "ZOË",
        "Lun Zo",
        "lünde",
        "skrzydlo",
        "Skrzydło",
        "555 010 0199",
        "(555) 010-0199",
        "5550100199",
        "15550100199",
        "010 01",
        "10 01",
        "0199",
        "S-1024",
        "s1024/77",
        "S102477",
        "1024",
        "buzz",
        "buzzes low",
        "skrzydl",
    ],
)
def test_a_ticket_is_found_by(words: str, store: Store, now: datetime) -> None:
    open_one(store, now, name="Nobody Else", phone="555 0177", serial="9")
    number = open_one(
        store,
        now,
        ("wish", "Buzzes on the low string, since Skrzydło’s party"),
        name="Zoë Lundé",
        phone="+1 (555) 010-0199",
        serial="S-1024/77",
    )
    assert found(store, words) == [number]


def test_long_words_fill_page_after_page_and_lose_none(store: Store, now: datetime) -> None:
    """Whole ones come first where they fill a page; without enough of them every beginning counts."""
    whole = [open_one(store, now, ("wish", "acoustic")) for _ in range(5)]
    longer = [open_one(store, now, ("wish", "acoustics")) for _ in range(2)]
    assert search.numbers(store.db, "acoustic", 99, 3) == whole[:1:-1]
    assert search.numbers(store.db, "acoustic", whole[2], 3) == whole[1::-1]
    assert search.numbers(store.db, "acoustic", 99, 9) == [*longer[::-1], *whole[::-1]]
    assert search.numbers(store.db, "acousti", 99, 2) == longer[::-1]


def test_a_long_word_beside_others_loses_none(store: Store, now: datetime) -> None:
    """However many have the long word itself, and however few of them the other one too."""
    both = [open_one(store, now, ("wish", "acoustic"), name="Zoë Lundé") for _ in range(3)]
    longer = open_one(store, now, ("wish", "acoustics"), name="Zoë Lundé")
    alone = [open_one(store, now, ("wish", "acoustic"), name="Maud Falk") for _ in range(4)]
    rare = open_one(store, now, name="Zoë Lundeberg")
    everyone = [longer, *both[::-1]]
    assert search.numbers(store.db, "zo acoustic", 99, 3) == both[::-1]
    assert search.numbers(store.db, "acoustic zo", 99, 5) == everyone
    assert search.numbers(store.db, "zo acoustic", both[2], 2) == both[1::-1]
    assert search.numbers(store.db, "zo acoustic", both[1], 2) == both[:1]
    assert search.numbers(store.db, "maud acoustic", 99, 9) == alone[::-1]
    assert search.numbers(store.db, "lundeberg zoe", 99, 3) == [rare]
    assert search.numbers(store.db, "lundeber zoe", 99, 3) == [rare]
    assert search.numbers(store.db, "lundeberg acoustic", 99, 1) == []


@pytest.mark.parametrize(
    "words", ["zoe nobody", "0.008", "unde", '"', "* OR *", "NEAR(", "name:x", "-", "^a b"]
)
def test_what_is_not_there_is_not_found(words: str, store: Store, now: datetime) -> None:
    open_one(store, now, ("relief", "0.008 in"), name="Zoë Lundé")
    assert found(store, words) == []


def test_the_newest_words_count_and_former_ones_do_not(store: Store, ticket: str, now: datetime) -> None:
    for name in ("Ines Falk", "Ines Hawk"):
        with store.writing() as db:
            tickets.change(db, ticket, now, name=name)
    assert found(store, "falk") == []
    assert found(store, "hawk") == [1]


def test_nothing_is_kept_of_a_transaction_that_failed(store: Store, ticket: str, now: datetime) -> None:
    with pytest.raises(RuntimeError), store.writing() as db:
        tickets.change(db, ticket, now, name="Ines Falk")
        raise RuntimeError
    assert found(store, "falk") == []


def test_pages_hold_every_ticket_once(store: Store, now: datetime) -> None:
    made = [open_one(store, now, name=f"Ines {letter}") for letter in "abcdefg"]
    for words in ("", "ines"):
        seen: list[int] = []
        while page := tickets.board(store.db, words, 3, seen[-1] if seen else tickets.LAST):
            seen += [ticket.number for ticket in page]
        assert seen == made[::-1]


def test_an_empty_index_is_written_anew_on_start(store: Store, now: datetime) -> None:
    number = open_one(store, now, ("wish", "louder"), name="Ines Falk")
    with store.writing() as db:
        db.execute("delete from search")
    Store(store.folder).close()
    assert found(store, "ines louder") == [number]


def test_forgotten_words_leave_the_file(store: Store, ticket: str, now: datetime) -> None:
    with store.writing() as db:
        tickets.change(db, ticket, now, name="Quillfeather")
    with store.writing() as db:
        tickets.change(db, ticket, now, name="")
        search.forget(db)
    store.db.execute("VACUUM")
    store.db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    assert b"quillfeather" not in store.path.read_bytes()


@given(st.text(max_size=60))
def test_any_text_is_a_query_that_sqlite_takes(words: str) -> None:
    db = sqlite3.connect(":memory:")
    db.execute("create virtual table t using fts5 (name, phone, tokenize = 'unicode61', detail = column)")
    db.execute("insert into t values (?, ?)", [" ".join(folded(words)), " ".join(telephone(words))])
    if query(words):
        assert db.execute("select count(*) from t where t match ?", [query(words)]).fetchone() == (1,)
    db.close()


@given(st.lists(st.text("0123456789", min_size=1, max_size=5), min_size=1, max_size=5))
def test_a_number_is_found_from_each_of_its_groups_on(groups: list[str]) -> None:
    kept = telephone("-".join(groups))
    for at in range(len(groups)):
        tail = "".join(groups[at:]).lstrip("0")
        if len(tail) >= search.SHORTEST:
            assert tail in kept
