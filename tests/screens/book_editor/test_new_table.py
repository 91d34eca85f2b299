"""A decision table made on the owner's pages, with its first rule."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

NEW = {
    "name": "tailpiece",
    "policy": "first",
    "fact0": "tuners",
    "test0": "stiff",
    "fact1": "relief [in]",
    "test1": ">0.020",
    "finding": "tailpiece_loose",
    "severity": "watch",
    "says": "The tailpiece is loose.",
    "says_fr": "Le cordier est desserré.",
}


def test_a_new_table_stands_in_the_book_and_takes_rows(owner: Any) -> None:
    added = owner.change("/book/new-table", **NEW)
    more = owner.change(
        "/book/rows/0/tables/tailpiece.csv", c0="bent", c2="tailpiece_worn", c3="watch", c4="Worn."
    )
    owner.save()

    assert added.location.endswith("/book/tables/tables/tailpiece.csv") and more.status_code == 303
    assert owner.file("tables/tailpiece.csv").splitlines() == [
        "hit policy,first",
        "tuners,relief [in],then finding,then severity,then says,then says [fr],note",
        "stiff,>0.020,tailpiece_loose,watch,The tailpiece is loose.,Le cordier est desserré.,",
        "bent,-,tailpiece_worn,watch,Worn.,,",
    ]
    assert "tailpiece" in owner.ctx.book.tables


def test_a_new_table_is_told_before_it_is_saved(owner: Any) -> None:
    owner.change("/book/new-table", **NEW)

    assert "tables/tailpiece.csv is new." in owner.page("/book/effect").text_content()


def test_facts_are_picked_with_their_units(standing: Any) -> None:
    offered = standing.page("/book/new-table").xpath("//datalist[@id='fact0-ids']/option/@value")

    assert {"tuners", "relief [in]", "crown_left [in]"} < set(offered)


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("name", "Tail piece", "one word in small letters"),
        ("name", "relief", "has that table already"),
        ("fact0", "", "at least one"),
        ("test0", "wobbly", "not a value of tuners"),
        ("test1", ">lots", "number"),
        ("finding", "", "finds nothing"),
        ("says", "", "needs a sentence"),
    ],
)
def test_a_table_that_cannot_be_is_refused_beside_its_field(
    refused: Callable[..., None], field: str, typed: str, says: str
) -> None:
    form = NEW | {field: typed}
    if field == "fact0":
        form |= {"fact1": "", "test0": "", "test1": ""}

    refused("/book/new-table", field, says, **form)


def test_a_fact_that_nothing_knows_is_refused(refused: Callable[..., None]) -> None:
    refused("/book/new-table", "test1", "releif", **NEW | {"fact1": "releif"})
