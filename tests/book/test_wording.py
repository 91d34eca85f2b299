"""Facts in sentences: each kind of value as people write it, and the bound that a cell tests."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from intake.book.model import Book
from intake.book.sfeel import parse_tests
from intake.book.text import Text
from intake.book.wording import fill, fill_text, labels_of, show_value, shown_units

UNITS = {
    "relief": "in",
    "action_bass_12": "in",
    "scale_length": "in",
    "size": "in",
    "room_rh": "%",
    "room_temp": "F",
    "head_angle": "deg",
    "worth_share": "ratio",
    "buzz_at": "string/fret",
}


@pytest.mark.parametrize(
    ("id", "value", "shown"),
    [
        ("relief", Fraction("0.008"), "0.008 in"),
        ("action_bass_12", Fraction(13, 128), "6.5/64 in"),
        ("scale_length", Fraction("25.4"), "25.4 in"),
        ("size", Fraction(5, 8), "5/8 in"),
        ("room_rh", Fraction(45), "45 %"),
        ("room_temp", Fraction(70), "70 °F"),
        ("head_angle", Fraction(15), "15°"),
        ("worth_share", Fraction(9, 20), "45 %"),
        ("string_count", Fraction(12), "12"),
        ("board_binding", True, "yes"),
        ("family", "classical", "Classical"),
        ("complaint_words", "It buzzes.", "It buzzes."),
        ("loose_frets", (3, 5), "3, 5"),
        ("fret_wear", {3: Fraction("0.006")}, "3: 0.006"),
        ("relief", None, "not measured"),
    ],
)
def test_a_value_is_printed_as_people_write_it(book: Book, id: str, value: Any, shown: str) -> None:
    assert show_value(id, value, UNITS, labels_of(book)) == shown


@pytest.mark.parametrize(
    ("cell", "value", "shown"),
    [
        ("<0.030", "0.02", "0.030 in"),
        ("[0.030..0.040)", "0.035", "0.030 in to 0.040 in"),
        ("<0.002,>0.012", "0.02", "0.012 in"),
        ("<0.002,>0.012", "0.001", "0.002 in"),
        ("not([0.002..0.012])", "0.02", "0.002 in to 0.012 in"),
    ],
)
def test_the_bound_is_the_one_that_was_met(cell: str, value: str, shown: str) -> None:
    said = fill("{relief limit}", {"relief": Fraction(value)}, UNITS, {"relief": parse_tests(cell)})
    assert said == shown


def test_other_languages_have_their_labels_and_their_decimals(book: Book) -> None:
    text = Text(en="{family}: {relief}, {board_binding}", fr="{family} : {relief}, {board_binding}")
    facts = {"family": "classical", "relief": Fraction("0.008"), "board_binding": False}
    filled = fill_text(text, facts, UNITS, {}, labels_of(book))
    assert filled == {"en": "Classical: 0.008 in, no", "fr": "Classique : 0,008 in, non"}


def test_the_fields_of_a_pin_are_printed_by_their_labels(book: Book) -> None:
    facts = {"part": "top", "kind": "crack", "size": Fraction(4), "original": {"bridge": "replaced"}}
    said = fill("A {kind} in the {part}, {size}; {original.bridge}", facts, UNITS, {}, labels_of(book))
    assert said == "A Crack in the Top, 4 in; replaced"


INCHES = dict.fromkeys(
    ("action_bass_12", "action_treble_12", "action_bass_high", "saddle_left", "saddle_to_pins", "relief"),
    "in",
)


@pytest.mark.parametrize(
    ("answers", "shown"),
    [
        ({}, ["5/64 in", "5/64 in", "5/64 in", "0.078 in"]),
        ({"action_bass_12": "2 mm"}, ["1.98 mm", "1.98 mm", "5/64 in", "0.078 in"]),
        ({"action_treble_12": "1,8 MM"}, ["1.98 mm", "1.98 mm", "5/64 in", "0.078 in"]),
        ({"saddle_showing": "4.0 mm"}, ["5/64 in", "5/64 in", "1.98 mm", "0.078 in"]),
        ({"saddle_to_pins": "12 mm"}, ["5/64 in", "5/64 in", "5/64 in", "0.078 in"]),
        ({"relief": "0.2 mm"}, ["5/64 in", "5/64 in", "5/64 in", "1.98 mm"]),
    ],
)
def test_what_was_typed_in_millimetres_is_written_in_them_with_all_that_is_held_to_it(
    answers: dict[str, str], shown: list[str]
) -> None:
    units = shown_units(INCHES, answers)
    ids = ("action_bass_12", "action_bass_high", "saddle_left", "relief")
    assert [show_value(id, Fraction(5, 64), units) for id in ids] == shown
    assert (
        fill("{relief limit}", {"relief": Fraction(1)}, units, {"relief": parse_tests(">5/64")}) == shown[-1]
    )
