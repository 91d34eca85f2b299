"""From entries to the walk-in: what "all sound" fills, and what "not assessed" leaves out."""

from __future__ import annotations

import pytest

from intake.book.answers import read_answers
from intake.book.files.load import load_book
from intake.book.model import Book
from intake.config import demo_book
from intake.services.step_form import StepForm, fields_of_step
from intake.services.walkins import as_json, from_json, walkin_from
from intake.store.steps import Entry

STATE = {"one", "several", "yes_no", "frets", "string_frets", "pins"}


@pytest.fixture(scope="module")
def book() -> Book:
    return load_book(demo_book())


def instrument(family: str, **others: str) -> Entry:
    return Entry("instrument", (("family", family), *others.items()))


@pytest.mark.parametrize("family", ["steel-string", "classical", "electric", "banjo", "resonator"])
def test_all_sound_everywhere_can_be_read_and_fills_only_what_is_asked(book: Book, family: str) -> None:
    passed = [Entry(step.id, (), "all_sound") for step in book.steps if step.id != "instrument"]
    walkin = walkin_from(book, [instrument(family), *passed])
    assert read_answers(book, walkin.answers).problems == {}
    assert walkin.by_eye == walkin.answers.keys() - {"family"}
    for id in walkin.by_eye:
        question = book.questions[id]
        assert question.kind in STATE
        assert not question.families or family in question.families
    assert walkin.by_eye


def test_all_sound_never_overwrites_what_was_typed(book: Book) -> None:
    typed = Entry("neck", (("twist", "bad"), ("relief", "0.008 in")), "all_sound")
    walkin = walkin_from(book, [instrument("steel-string"), typed])
    assert (walkin.answers["twist"], walkin.answers["relief"]) == ("bad", "0.008 in")
    assert not {"twist", "relief"} & walkin.by_eye
    assert "heel_gap" in walkin.by_eye


def test_what_the_phone_filled_in_itself_is_by_eye_too(book: Book) -> None:
    typed = Entry("neck", (("twist", "none"),), "all_sound")
    assert "twist" in walkin_from(book, [instrument("steel-string"), typed]).by_eye


def test_a_question_that_hangs_on_another_waits_for_it(book: Book) -> None:
    sound = Entry("top-and-bridge", (), "all_sound")
    pinned = walkin_from(book, [instrument("steel-string", bridge_kind="pin"), sound])
    unknown = walkin_from(book, [instrument("steel-string"), sound])
    assert "pins_fit" in pinned.by_eye and "pins_fit" not in unknown.by_eye


def test_only_the_step_that_was_passed_is_filled(book: Book) -> None:
    walkin = walkin_from(book, [instrument("steel-string"), Entry("neck", (), "all_sound")])
    assert {book.questions[id].step for id in walkin.by_eye} == {"neck"}


def test_steps_not_assessed_are_named(book: Book) -> None:
    walkin = walkin_from(
        book, [instrument("steel-string"), Entry("neck", (("relief", "x"),), "not_assessed")]
    )
    assert walkin.not_assessed == {"neck"}
    assert walkin.by_eye == frozenset()


def test_a_walk_in_as_text_comes_back(book: Book) -> None:
    walkin = walkin_from(book, [instrument("steel-string"), Entry("neck", (), "all_sound")])
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
        raw = walkin_from(book, [Entry(step, ((id, "none"),))]).answers
        (found,) = [known for known in book.steps if known.id == step]
        field = StepForm(book, found).fill(raw, {})[id]
        assert field.data == data


def test_a_truth_value_stands_as_its_word(book: Book) -> None:
    step = next(step for step in book.steps if step.id == "frets")
    assert StepForm(book, step).fill({"board_binding": True}, {})["board_binding"].data == "yes"


def test_fields_of_a_step_leave_out_the_blank_and_the_foreign(book: Book) -> None:
    posted = [("relief", " 8 "), ("twist", " "), ("fret_wear.1", "x"), ("rod_state", "works"), ("key", "k")]
    assert fields_of_step(book, "neck", posted) == (("relief", " 8 "), ("rod_state", "works"))
