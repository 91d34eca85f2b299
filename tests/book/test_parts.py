"""Parts of an answer: from the fields of a form and back, and when two values say the same."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.book.answer_kinds import MEASURES_END
from intake.book.answers import from_fields, read_answers, to_fields
from intake.book.model import Question
from intake.book.parts import from_pairs, is_part, same_value, to_raw
from tests.fields import to_pairs
from tests.memo import sample_book

BOOK = sample_book()
KINDS = {id: question.kind for id, question in BOOK.questions.items()}


@pytest.mark.parametrize(
    ("pairs", "parts"),
    [
        ([("relief", "0.008 in")], {"relief": "0.008 in"}),
        ([("relief", "")], {"relief": ""}),
        (
            [("complaints", "buzz"), ("complaints", "rattle")],
            {"complaints/buzz": "yes", "complaints/rattle": "yes"},
        ),
        ([("fret_wear.7", "0.006 in")], {"fret_wear/7": "0.006 in"}),
        ([("fret_wear", "none")], {"fret_wear/none": "yes"}),
        ([("original.bridge", "original")], {"original/bridge": "original"}),
        ([("loose_frets", "3, 5")], {"loose_frets/3": "yes", "loose_frets/5": "yes"}),
        ([("buzz_at", "6/2"), ("buzz_at", "xyz")], {"buzz_at/6-2": "6/2", "buzz_at/xyz": "xyz"}),
        (
            [("gauges", ".012"), ("gauges", ""), ("gauges", ".024")],
            {"gauges/1": ".012", "gauges/2": "", "gauges/3": ".024"},
        ),
        ([("pins.a1.part", "top"), ("pins.a1.size", "")], {"pins/a1": '{"part": "top"}'}),
        (
            [("gone.bridge", "x"), ("gone_too", "a"), ("gone_too", "b")],
            {"gone/bridge": "x", "gone_too/a": "yes", "gone_too/b": "yes"},
        ),
    ],
)
def test_each_kind_has_its_parts(pairs: list[tuple[str, str]], parts: dict[str, str]) -> None:
    assert from_pairs(KINDS, pairs) == parts


@pytest.mark.parametrize(
    "part", ["relief", "fret_wear/7", "passed.neck", "buzz_at/6-2", "pins/019a-b", "top_map/tail"]
)
def test_names_of_parts(part: str) -> None:
    assert is_part(part)


@pytest.mark.parametrize("text", ["", "/7", "re lief", "7", "relief/", "a/b\n", "x" * 201])
def test_other_texts_name_no_part(text: str) -> None:
    assert not is_part(text)


def forms() -> st.SearchStrategy[dict[str, Any]]:
    asked = [question for question in BOOK.questions.values() if question.kind not in ("photos", "pins")]
    return st.lists(st.sampled_from(asked), max_size=8, unique_by=lambda one: one.id).flatmap(
        lambda chosen: st.fixed_dictionaries({one.id: written_for(one) for one in chosen})
    )


def written_for(question: Question) -> st.SearchStrategy[Any]:
    ids = [choice.id for choice in question.values if choice.id != "none"]
    match question.kind:
        case "several":
            return st.lists(st.sampled_from(ids), min_size=1, unique=True).map(
                lambda chosen: sorted(chosen, key=ids.index)
            )
        case "frets":
            return st.lists(st.integers(1, 20).map(str), min_size=1, max_size=4, unique=True)
        case "string_frets":
            return st.lists(st.sampled_from(["6/1", "1/0", "3/12"]), min_size=1, unique=True).map(sorted)
        case "fret_depths":
            return st.dictionaries(st.integers(1, 20).map(str), st.just("0.006 in"), min_size=1)
        case "part_states":
            parts = [part.id for part in question.parts]
            return st.dictionaries(st.sampled_from(parts), st.just("original"), min_size=1)
        case "measures":
            return st.lists(st.sampled_from([".010", ".024"]), min_size=1, max_size=6)
        case "one":
            return st.sampled_from([choice.id for choice in question.values])
        case "yes_no":
            return st.sampled_from(["yes", "no"])
        case "date":
            return st.dates().map(str)
        case _:
            return st.sampled_from(["3", "0.008 in", "words"])


@given(forms())
def test_parts_read_as_the_form_that_they_came_from(raw: dict[str, Any]) -> None:
    pairs = to_fields(BOOK, raw)

    parts = from_pairs(KINDS, pairs)

    assert read_answers(BOOK, to_raw(BOOK, parts)) == read_answers(BOOK, from_fields(BOOK, pairs))


@given(forms())
def test_parts_come_back_as_the_fields_of_a_form(raw: dict[str, Any]) -> None:
    parts = from_pairs(KINDS, to_fields(BOOK, raw))

    assert from_pairs(KINDS, to_pairs(BOOK, parts)) == parts


def test_pins_stand_in_the_order_in_which_they_were_first_given() -> None:
    one, other = json.dumps({"part": "top"}), json.dumps({"part": "back"})

    pins = to_raw(BOOK, {"pins/b": one, "pins/a": other})["pins"]

    assert pins == [{"part": "top", "id": "b"}, {"part": "back", "id": "a"}]


def test_a_blank_cell_keeps_the_place_of_the_next() -> None:
    assert to_raw(BOOK, {"gauges/1": ".012", "gauges/3": ".024"})["gauges"] == [".012", "", ".024"]


def test_none_beside_another_member_is_refused_with_both() -> None:
    raw = to_raw(BOOK, {"loose_frets/none": "yes", "loose_frets/3": "yes"})

    assert raw == {"loose_frets": ["none", "3"]}
    assert "loose_frets" in read_answers(BOOK, raw).problems


@pytest.mark.parametrize(
    ("part", "one", "other", "alike"),
    [
        ("relief", ".020", "0.020 in", True),
        ("relief", "0.020 in", "0.021 in", False),
        ("relief", "", "0.020 in", False),
        ("relief", " ", "", True),
        ("relief", "thin", "thin ", True),
        ("relief", "thin", "thick", False),
        ("fret_wear/7", ".006", "0.006 in", True),
        ("board_binding", "yes", "true", True),
        ("customer_name", "Ines", "ines", False),
        (
            "pins/a",
            '{"part": "top", "kind": "crack", "size": "5 in"}',
            '{"kind": "crack", "part": "top", "size": "5"}',
            True,
        ),
        ("pins/a", '{"part": "top", "kind": "crack"}', '{"part": "back", "kind": "crack"}', False),
        ("no_book_asks_this", "a", "a ", True),
        ("no_book_asks_this", "1", "1.0", False),
        ("passed.neck", "all_sound", "not_assessed", False),
    ],
)
def test_values_are_the_same_as_the_book_reads_them(part: str, one: str, other: str, alike: bool) -> None:
    assert same_value(BOOK, part, one, other) is alike


def test_a_list_of_lengths_may_hold_any_number_of_blanks() -> None:
    """A pattern that began at each of them would take hours here."""
    blanks = " " * 1_000_000

    assert re.split(MEASURES_END, f"x{blanks}x") == [f"x{blanks}x"]
    assert re.split(MEASURES_END, f".010{blanks}.013, .017;26\n36 46 w") == [
        ".010",
        ".013",
        ".017",
        "26",
        "36",
        "46 w",
    ]
