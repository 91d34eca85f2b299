"""Raw answers to values, forms to raw answers and back, and the sentences that refuse."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.book.answers import from_fields, read_answers, to_fields
from intake.book.model import Book, Question
from tests.memo import sample_book

DEMO = sample_book()

READ = [
    ("relief", "0.008 in", Fraction("0.008")),
    ("relief", ".008", Fraction("0.008")),
    ("relief", 0.008, Fraction("0.008")),
    ("relief", "0,2 mm", Fraction(1, 127)),
    ("action_bass_12", "5/64", Fraction(5, 64)),
    ("action_bass_12", "6.5/64 in", Fraction(13, 128)),
    ("saddle_showing", "1/8 in", Fraction(1, 8)),
    ("room_rh", "45 %", Fraction(45)),
    ("room_temp", "21 C", Fraction(349, 5)),
    ("string_count", 6, Fraction(6)),
    ("mains_gear", True, True),
    ("complaints", ["buzz", "crack"], ("buzz", "crack")),
    ("fret_wear", {"1": "0.008 in"}, {1: Fraction("0.008")}),
    ("original", {"bridge": "original"}, {"bridge": "original"}),
    ("loose_frets", "none", ("none",)),
]
REFUSED = [
    ("relief", "eight", "eight"),
    ("relief", "0.8 in", "0.8"),
    ("action_bass_12", "500/64", "500/64"),
    ("rod", "three_way", "three_way"),
    ("complaints", ["buzz", "sadness"], "sadness"),
    ("releif", "0.008 in", "Did you mean relief?"),
    ("fret_wear", {"99": "0.008 in"}, "99"),
    ("loose_frets", ["none", "3"], "none"),
    ("pins", [{"part": "roof", "kind": "crack", "state": "open"}], "roof"),
]


@pytest.mark.parametrize(("id", "written", "value"), READ)
def test_what_people_write_is_read_exactly(id: str, written: Any, value: Any) -> None:
    answers = read_answers(DEMO, {"family": "steel-string", id: written})
    assert answers.values[id] == value
    assert not answers.problems


@pytest.mark.parametrize(("id", "written", "named"), REFUSED)
def test_what_cannot_be_is_refused_in_a_sentence_that_names_it(id: str, written: Any, named: str) -> None:
    answers = read_answers(DEMO, {"family": "steel-string", id: written})
    assert id not in answers.values
    assert named in answers.problems[id] and answers.problems[id].endswith((".", "?"))


def test_a_hundred_times_too_much_says_what_is_plausible() -> None:
    sentence = read_answers(DEMO, {"action_bass_12": "8 in"}).problems["action_bass_12"]
    assert "8 in is a hundred times too much" in sentence
    assert "1/2 in" in sentence


def written_for(question: Question) -> st.SearchStrategy[Any]:
    """Something that a form can send for this question."""
    ids = [choice.id for choice in question.values]
    match question.kind:
        case "one" if ids:
            return st.sampled_from(ids)
        case "several" if ids:
            others = [id for id in ids if id != "none"]
            return st.lists(st.sampled_from(others), min_size=1, max_size=3, unique=True)
        case "yes_no":
            return st.sampled_from(["yes", "no"])
        case "measure" | "number" | "money":
            return st.sampled_from(ids or ["3"])
        case "frets":
            return st.lists(st.integers(1, 12).map(str), min_size=1, max_size=4, unique=True)
        case "fret_depths":
            return st.dictionaries(st.integers(1, 12).map(str), st.just("0.006 in"), min_size=1, max_size=4)
        case "part_states":
            parts = [part.id for part in question.parts]
            states = [state.id for state in question.states or question.values]
            return st.dictionaries(st.sampled_from(parts), st.sampled_from(states), min_size=1)
        case "part_depths":
            places = st.sampled_from([part.id for part in question.parts])
            return st.dictionaries(places, st.sampled_from(["0.110 in", "2.5 mm"]), min_size=1)
        case "string_frets":
            places = st.tuples(st.integers(1, 6), st.integers(0, 12)).map(lambda at: f"{at[0]}/{at[1]}")
            return st.just("none") | st.lists(places, min_size=1, max_size=4, unique=True)
        case "measures":
            return st.lists(st.sampled_from(["0.010 in", "0.2 mm", "1/64"]), min_size=1, max_size=6)
        case "pins":
            return st.just("none") | st.lists(pin_of(question), min_size=1, max_size=4)
        case "photos":
            return st.lists(st.text("abcdef0123456789", min_size=1), min_size=1, max_size=3)
        case "date":
            return st.dates().map(str)
        case _:
            letters = st.characters(codec="utf-8", exclude_categories=("Cs", "Cc"))
            return st.text(letters, min_size=1).filter(str.strip)


def pin_of(question: Question) -> st.SearchStrategy[dict[str, str]]:
    """A place on the drawing as a form sends it: everything in it is text."""
    ids = {"part": question.parts, "kind": question.kinds, "state": question.states}
    needed = {name: st.sampled_from([choice.id for choice in choices]) for name, choices in ids.items()}
    state = {"state": needed.pop("state")}
    figures = {name: st.integers(1, 9).map(str) for name in ("size", "count", "x", "y")}
    return st.fixed_dictionaries(needed, optional=state | figures)


SENDABLE = list(DEMO.questions.values())
forms = st.lists(st.sampled_from(SENDABLE), max_size=12, unique_by=lambda question: question.id).flatmap(
    lambda chosen: st.fixed_dictionaries({question.id: written_for(question) for question in chosen})
)


@given(forms)
def test_a_form_comes_back_as_it_was_written(raw: dict[str, Any]) -> None:
    assert from_fields(DEMO, to_fields(DEMO, raw)) == raw


@given(forms)
def test_a_form_reads_as_what_was_written(raw: dict[str, Any]) -> None:
    """What the counter keeps of a form and what a walk-in file holds are the same answers."""
    assert read_answers(DEMO, from_fields(DEMO, to_fields(DEMO, raw))) == read_answers(DEMO, raw)


@given(forms)
def test_nothing_that_a_form_offers_is_refused(raw: dict[str, Any]) -> None:
    answers = read_answers(DEMO, raw)
    chosen = ("one", "several", "yes_no", "part_states", "photos", "words", "date")
    offered = {id for id in raw if DEMO.questions[id].kind in chosen or DEMO.questions[id].values}
    assert offered <= answers.values.keys(), answers.problems


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=6,
)


@given(st.dictionaries(st.sampled_from(sorted(DEMO.questions)), anything, max_size=8))
def test_nothing_written_ever_raises(raw: dict[str, Any]) -> None:
    answers = read_answers(DEMO, raw)
    assert not answers.values.keys() & answers.problems.keys()
    assert all(isinstance(sentence, str) and sentence for sentence in answers.problems.values())


def test_the_minimal_book_reads_answers_too(book: Book) -> None:
    assert read_answers(book, {"relief": "0.008 in"}).values["relief"] == Fraction("0.008")


@pytest.mark.parametrize(
    ("written", "amount"),
    [
        ("1400", 1400), ("1 400", 1400), ("1\u202f400", 1400), ("1'400", 1400), ("1,400", 1400),
        ("1.400,50", Fraction("1400.5")),
        ("$1,400", 1400), ("1400$", 1400), ("USD 1400", 1400), ("1400 EUR", 1400), ("about 900", 900),
        ("1,4", Fraction("1.4")),
        ("1 400 000", 1_400_000), ("5", 5),
    ],
)  # fmt: skip
def test_an_amount_as_people_write_it(written: str, amount: Fraction | int) -> None:
    assert read_answers(DEMO, {"family": "electric", "worth": written}).values["worth"] == amount


@pytest.mark.parametrize(
    "written",
    ["1e3", "3k", "1.5k", "1o0", "12 or 15", "l500", "1400 to 1600", "2x700", "£9a9", "١٢٣", "5m", "0x10",
     "12/15", "1 40", "1_400", "5" + " " * 20_000 + "x"],
)  # fmt: skip
def test_what_is_no_amount_is_asked_for_again(written: str) -> None:
    """Letters between digits were dropped, and 12 or 15 became 1215."""
    assert "worth" in read_answers(DEMO, {"family": "electric", "worth": written}).problems
