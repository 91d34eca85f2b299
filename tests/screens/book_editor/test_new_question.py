"""A question made and changed on the owner's pages, without a text editor."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, cast

import pytest
from tomlkit import TOMLDocument

from intake.config import demo_book
from intake.screens.book_editor.checklist_toml import shown, write
from intake.screens.book_editor.shop_toml import edited

CHECKLIST = "checklist.toml"
NEW = {
    "id": "tailpiece",
    "step": "hardware-and-wiring",
    "kind": "one",
    "label": "Tailpiece",
    "label_fr": "Cordier",
    "how": "Push it sideways with a thumb.",
    "values": "sound | Sound | Bon\nloose | Loose | Desserré",
    "families": ["floating"],
    "when": "strings_state: at_pitch",
    "sound": "sound",
}


def demo(file: str) -> str:
    return (demo_book() / file).read_text("utf-8")


def test_a_new_question_is_asked_and_nothing_else_changes(owner: Any) -> None:
    added = owner.change("/book/question/", **NEW)
    owner.save()
    question = owner.ctx.book.questions["tailpiece"]

    assert added.status_code == 303
    assert owner.file(CHECKLIST).startswith(demo(CHECKLIST))
    assert question.step == "hardware-and-wiring" and question.label.in_("fr") == "Cordier"
    assert [(one.id, one.label.in_("fr")) for one in question.values] == [
        ("sound", "Bon"),
        ("loose", "Desserré"),
    ]
    assert set(question.families) == {"archtop", "mandolin", "banjo"}
    assert (question.when, question.sound) == ({"strings_state": ("at_pitch",)}, "sound")


def test_a_new_question_is_told_before_it_is_saved(owner: Any) -> None:
    owner.change("/book/question/", **NEW)

    page = owner.page("/book/effect").text_content()

    assert "checklist.toml: tailpiece is new." in page
    assert "Nothing uses the answer to “tailpiece”" in page


def test_a_new_measure_has_its_unit_and_bounds(owner: Any) -> None:
    typed = {
        "id": "slot_depth",
        "step": "hardware-and-wiring",
        "kind": "measure",
        "label": "Slot",
        "unit": "mm",
    }

    owner.change("/book/question/", **typed, values="0.5\n0.8", low="0", high="3")
    owner.save()
    question = owner.ctx.book.questions["slot_depth"]

    assert (question.unit, float(question.low), float(question.high)) == ("mm", 0.0, 3.0)
    assert [one.id for one in question.values] == ["0.5", "0.8"]


def test_one_label_changed_changes_one_line(owner: Any) -> None:
    owner.change("/book/question/rod", label="Adjustable rod")
    owner.save()
    before, after = demo(CHECKLIST).splitlines(), owner.file(CHECKLIST).splitlines()

    changed = [line for old, line in zip(before, after, strict=True) if old != line]

    assert changed == ['label = "Adjustable rod"']


def test_questions_written_as_they_are_shown_stay_as_they_were(owner: Any) -> None:
    languages = owner.ctx.book.shop.languages

    def write_all(checklist: TOMLDocument) -> None:
        for question in cast(Any, checklist["question"]):
            write(question, shown(question, languages), shown(question, languages), languages)

    assert edited(demo(CHECKLIST).encode(), write_all).decode() == demo(CHECKLIST)


@pytest.mark.parametrize("id", ["rod", "pins", "relief", "saddle_material"])
def test_a_form_sent_as_it_stands_changes_nothing(owner: Any, id: str) -> None:
    sent = owner.change(f"/book/question/{id}")

    assert sent.status_code == 303 and not owner.drafted


def test_ids_are_picked_from_lists(standing: Any) -> None:
    page = standing.page("/book/question/")

    conditions = page.xpath("//datalist[@id='when-ids']/option/@value")
    families = page.xpath("//input[@name='families']/@value")

    assert "rod: one_way" in conditions
    assert {"flat-top", "solid", "banjo"} < set(families)


def test_every_language_of_the_shop_has_its_fields(owner: Any) -> None:
    shop = owner.ctx.book.shop

    page = owner.page("/book/question/rod")

    for language in set(shop.languages) - {"en"}:
        assert page.xpath(f"//*[@name='label_{language}']") and page.xpath(f"//*[@name='how_{language}']")


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("id", "Tail Piece", "one word in small letters"),
        ("id", "relief", "has that question already"),
        ("label", "", "missing"),
        ("sound", "wobbly", "not an answer to it"),
        ("when", "rod one_way", "write it as"),
        ("when", "rod: bent", "not an answer to rod"),
    ],
)
def test_a_question_that_cannot_be_is_refused_beside_its_field(
    refused: Callable[..., None], field: str, typed: str, says: str
) -> None:
    refused("/book/question/", field, says, **NEW | {field: typed})


def test_an_answer_that_the_program_knows_cannot_be_renamed(refused: Callable[..., None]) -> None:
    values = "at_pitch | At pitch\nslacked | Slack\nsome_missing | Some missing\nnone | None"

    refused("/book/question/strings_state", "values", "was it renamed", values=values)


def test_there_is_no_page_of_a_question_that_is_not_asked(standing: Any) -> None:
    assert standing.client.get("/book/question/moonbeam").status_code == 404
