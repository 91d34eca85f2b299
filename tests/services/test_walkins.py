"""From entries to the walk-in: what "all sound" fills, and what "not assessed" leaves out."""

from __future__ import annotations

import pytest

from intake.book.answers import read_answers
from intake.book.model import Book
from intake.book.parts import from_pairs
from intake.services.step_form import StepForm, own_fields
from intake.services.walkins import as_json, from_json, walkin_from
from intake.store.edits import Standing
from tests.memo import sample_book

STATE = {"one", "several", "yes_no", "frets", "string_frets", "pins"}


@pytest.fixture(scope="module")
def book() -> Book:
    return sample_book()


Parts = list[Standing]


def given(book: Book, *pairs: tuple[str, str], by: str = "hand") -> Parts:
    """What stands once somebody has given those fields."""
    kinds = {id: question.kind for id, question in book.questions.items()}
    return [Standing(part, value, by, ("e",), 1, 1) for part, value in from_pairs(kinds, pairs).items()]


def passed(step: str, how: str = "all_sound") -> Parts:
    return [Standing(f"passed.{step}", how, "hand", ("e",), 1, 1)]


def instrument(book: Book, family: str, **others: str) -> Parts:
    return given(book, ("family", family), *others.items())


@pytest.mark.parametrize("family", ["steel-string", "classical", "electric", "banjo", "resonator"])
def test_all_sound_everywhere_can_be_read_and_fills_only_what_is_asked(book: Book, family: str) -> None:
    sound = [one for step in book.steps if step.id != "instrument" for one in passed(step.id)]
    walkin = walkin_from(book, [*instrument(book, family), *sound])
    assert read_answers(book, walkin.answers).problems == {}
    assert walkin.by_eye == walkin.answers.keys() - {"family"}
    for id in walkin.by_eye:
        question = book.questions[id]
        assert question.kind in STATE
        assert not question.families or family in question.families
    assert walkin.by_eye


def test_all_sound_never_overwrites_what_was_typed(book: Book) -> None:
    typed = given(book, ("twist", "bad"), ("relief", "0.008 in"))
    walkin = walkin_from(book, [*instrument(book, "steel-string"), *typed, *passed("neck")])
    assert (walkin.answers["twist"], walkin.answers["relief"]) == ("bad", "0.008 in")
    assert not {"twist", "relief"} & walkin.by_eye
    assert "heel_gap" in walkin.by_eye


def test_what_the_phone_filled_in_itself_is_by_eye_too(book: Book) -> None:
    typed = given(book, ("twist", "none"))
    assert "twist" in walkin_from(book, [*instrument(book, "steel-string"), *typed, *passed("neck")]).by_eye


def test_an_answer_by_sound_is_by_eye_and_one_by_hand_is_not(book: Book) -> None:
    by_sound = given(book, ("twist", "none"), by="sound")

    walkin = walkin_from(
        book, [*instrument(book, "steel-string"), *by_sound, *given(book, ("heel_gap", "none"))]
    )

    assert walkin.by_eye == {"twist"}


@pytest.mark.parametrize("by", ["usual", "earlier"])
def test_what_was_taken_as_usual_or_from_an_earlier_visit_is_assumed(book: Book, by: str) -> None:
    walkin = walkin_from(book, [*instrument(book, "steel-string"), *given(book, ("fret_count", "20"), by=by)])

    assert walkin.assumed == {"fret_count"}
    assert walkin.answers["fret_count"] == "20"
    assert from_json(as_json(walkin)) == walkin


def test_what_somebody_took_back_is_not_filled_in_as_sound(book: Book) -> None:
    taken_back = [Standing("twist", "", "hand", ("e",), 1, 1)]

    walkin = walkin_from(book, [*instrument(book, "steel-string"), *taken_back, *passed("neck")])

    assert "twist" not in walkin.answers


def test_a_passed_step_leaves_out_only_what_no_hand_gave(book: Book) -> None:
    parts = [*given(book, ("relief", "0.008 in")), *given(book, ("twist", "none"), by="usual")]

    walkin = walkin_from(book, [*parts, *passed("neck", "not_assessed")])

    assert walkin.answers == {"relief": "0.008 in"}
    assert walkin.not_assessed == {"neck"}


def test_a_question_that_hangs_on_another_waits_for_it(book: Book) -> None:
    sound = passed("top-and-bridge")
    pinned = walkin_from(book, [*instrument(book, "steel-string", bridge_kind="pin"), *sound])
    unknown = walkin_from(book, [*instrument(book, "steel-string"), *sound])
    assert "pins_fit" in pinned.by_eye and "pins_fit" not in unknown.by_eye


def test_only_the_step_that_was_passed_is_filled(book: Book) -> None:
    walkin = walkin_from(book, [*instrument(book, "steel-string"), *passed("neck")])
    assert {book.questions[id].step for id in walkin.by_eye} == {"neck"}


def test_steps_not_assessed_are_named(book: Book) -> None:
    typed = [*given(book, ("relief", "x")), *passed("neck", "not_assessed")]
    walkin = walkin_from(book, [*instrument(book, "steel-string"), *typed])
    assert walkin.not_assessed == {"neck"}
    assert walkin.by_eye == frozenset()


def test_a_walk_in_as_text_comes_back(book: Book) -> None:
    walkin = walkin_from(book, [*instrument(book, "steel-string"), *passed("neck")])
    assert from_json(as_json(walkin)) == walkin


def test_a_form_holds_each_kind_as_it_was_typed(book: Book) -> None:
    raw = {"loose_frets": ["3", "5"], "fret_wear": {"1": "x"}, "board_binding": "yes", "crown_height": ".04"}
    step = next(step for step in book.steps if step.id == "frets")
    form = StepForm(book, step).fill(raw, {"fret_wear": "Fret 1: no."})
    held = {field.name: field.data for field in form}
    assert {id: held[id] for id in raw} == raw
    assert (held["buzz_at"], held["fret_ends"]) == ([], "")
    assert [field.name for field in form if field.errors] == ["fret_wear"]


def test_none_is_an_answer_of_every_kind_that_lists(book: Book) -> None:
    for step, id, data in (
        ("frets", "loose_frets", ["none"]),
        ("frets", "fret_wear", {}),
        ("cracks-and-braces", "pins", []),
        ("hardware-and-wiring", "electrics", ["none"]),
    ):
        raw = walkin_from(book, given(book, (id, "none"))).answers
        (found,) = [known for known in book.steps if known.id == step]
        field = StepForm(book, found).fill(raw, {})[id]
        assert field.data == data


def test_a_truth_value_stands_as_its_word(book: Book) -> None:
    step = next(step for step in book.steps if step.id == "frets")
    assert StepForm(book, step).fill({"board_binding": True}, {})["board_binding"].data == "yes"


def test_fields_of_a_step_leave_out_the_foreign_and_keep_what_was_asked_there_before(book: Book) -> None:
    posted = [("relief", " 8 "), ("twist", " "), ("fret_wear.1", "x"), ("old", "a\r\nb"), ("key", "k")]
    assert own_fields(book, {"old"}, "neck", posted) == (("relief", " 8 "), ("twist", " "), ("old", "a\nb"))
