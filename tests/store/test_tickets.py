"""Tickets, their numbers and the board."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from uuid import uuid4

import pytest

from intake.store import tickets
from intake.store.db import Store


def test_numbers_are_unique_from_many_threads(store: Store, now: datetime) -> None:
    def open_one(_: int) -> None:
        with store.writing() as db:
            tickets.ensure(db, str(uuid4()), now)

    with ThreadPoolExecutor(6) as threads:
        list(threads.map(open_one, range(30)))
    assert [ticket.number for ticket in tickets.board(store.db)] == list(range(30, 0, -1))


def test_a_ticket_is_opened_once(store: Store, ticket: str, now: datetime) -> None:
    with store.writing() as db:
        assert not tickets.ensure(db, ticket, now)
    assert len(tickets.board(store.db)) == 1


@pytest.fixture
def shelf(store: Store, now: datetime) -> Store:
    """Three tickets: 1 Ines Falk, 2 O'Neill 100%, 3 without a word."""
    words = ({"name": "Ines Falk", "serial": "A_17", "phone": "555 0101"}, {"name": "O'Neill 100%"}, {})
    with store.writing() as db:
        for given in words:
            id = str(uuid4())
            tickets.ensure(db, id, now)
            tickets.change(db, id, now, **given)
    return store


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("", [3, 2, 1]),
        ("falk", [1]),
        ("2", [2]),
        ("#2", [2]),
        ("A_1", [1]),
        ("a_", [1]),
        ("%", []),
        ("0101", [1]),
        ("o'n", [2]),
        ("nobody", []),
        ("' or 1=1 --", []),
        ("99999999999999999999", []),
    ],
)
def test_the_board_finds_by_name_telephone_number_or_serial(
    shelf: Store, words: str, found: list[int]
) -> None:
    assert [ticket.number for ticket in tickets.board(shelf.db, words)] == found
