"""A thickness map: a measure for each of the parts that the question names."""

from __future__ import annotations

from fractions import Fraction as F

import intake.trade.readings  # noqa: F401
from intake.book.answers import from_fields, read_answers, to_fields
from tests.memo import sample_book

BOOK = sample_book()


def test_each_place_is_read_in_the_unit_of_the_question() -> None:
    read = read_answers(BOOK, {"top_map": {"bridge": ".115", "tail": "2.5 mm", "waist": ""}})

    assert read.values["top_map"] == {"bridge": F("0.115"), "tail": F("2.5") / F("25.4")}
    assert read.problems == {}


def test_a_place_that_the_question_does_not_name_is_refused_and_so_is_nonsense() -> None:
    strange = read_answers(BOOK, {"top_map": {"moon": ".1"}})
    thick = read_answers(BOOK, {"top_map": {"tail": "3 in"}})

    assert "top_map" in strange.problems and thick.problems["top_map"].startswith("Tail: 3 in is too much")


def test_it_comes_back_from_the_fields_of_a_form() -> None:
    raw = {"top_map": {"bridge": ".115", "tail": ".100"}}

    assert from_fields(BOOK, to_fields(BOOK, raw)) == raw
