"""Whole steps from pages that know no edits: nothing that such a page did not show is taken back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask.testing import FlaskClient

from intake.services.context import Context
from intake.store import edits, revisions

Held = Callable[[str], dict[str, str]]


def test_a_page_that_came_blank_keeps_what_its_own_device_had_stored(
    phone: Any, ticket: str, held: Held
) -> None:
    phone.save(ticket, "neck", [("relief", "0.010 in")])

    answer = phone.save(ticket, "neck", [("twist", "none")], based_on=0)

    assert held(ticket) == {"relief": "0.010 in", "twist": "none"}
    assert answer.headers["Revision"] == "0"


def test_what_another_device_wrote_since_is_kept_too(
    phone: Any, other_phone: Any, ticket: str, held: Held
) -> None:
    phone.save(ticket, "neck", [("relief", "0.010 in")])
    other_phone.save(ticket, "neck", [("heel_gap", "1/64 in")])

    phone.save(ticket, "neck", [("twist", "none")], based_on=0)

    assert held(ticket) == {"relief": "0.010 in", "heel_gap": "1/64 in", "twist": "none"}


def test_a_page_that_has_seen_the_value_takes_it_back(phone: Any, ticket: str, held: Held) -> None:
    answer = phone.save(ticket, "neck", [("relief", "0.010 in"), ("twist", "none")])

    phone.save(ticket, "neck", [("twist", "none")], based_on=answer.headers["Revision"])

    assert held(ticket) == {"twist": "none"}


def test_a_page_that_does_not_show_a_later_value_is_not_told_of_a_later_version(
    phone: Any, other_phone: Any, ticket: str, held: Held
) -> None:
    first = phone.save(ticket, "neck", [("relief", "0.010 in")])
    other_phone.save(ticket, "neck", [("heel_gap", "1/64 in")])

    second = phone.save(
        ticket, "neck", [("relief", "0.010 in"), ("twist", "none")], based_on=first.headers["Revision"]
    )
    phone.save(ticket, "neck", [("twist", "none")], based_on=second.headers["Revision"])

    assert held(ticket) == {"heel_gap": "1/64 in", "twist": "none"}


def test_a_revision_from_before_there_were_edits_takes_nothing_back(
    phone: Any, client: FlaskClient, ticket: str, held: Held, ctx: Context
) -> None:
    first = client.post(f"/tickets/{ticket}", data={"relief": "0.010 in", "twist": "none"})
    row = edits.of_part(ctx.store.db, ticket, "relief")[0]
    with ctx.store.writing() as db:
        entry = {"ticket": ticket, "step": "neck", "revision": 1, "fields": "[]", "passed": "", "device": ""}
        db.table("steps").insert({**entry, "saved_at": row.taken_at})
    assert first.status_code == 303

    answer = phone.save(ticket, "neck", [("relief", "0.012 in")], based_on=1)

    assert answer.status_code == 200
    assert held(ticket) == {"relief": "0.012 in", "twist": "none"}


def test_of_a_pin_one_value_stands_whole(phone: Any, ticket: str, held: Held) -> None:
    both = [("pins.1.kind", "crack"), ("pins.1.size", "3 in"), ("pins.2.kind", "dent")]
    phone.save(ticket, "cracks-and-braces", both)

    answer = phone.save(ticket, "cracks-and-braces", [("pins.1.kind", "dent")], based_on=0)

    assert answer.status_code == 412
    assert held(ticket) == {"pins/2": '{"kind": "dent"}'}


def other_book(ctx: Context, old: str, new: str) -> None:
    """The book without the one, with the other, in its checklist."""
    before = revisions.in_force(ctx.store.db)
    assert before
    files = dict(revisions.files_of(ctx.store.db, before.number))
    files["checklist.toml"] = files["checklist.toml"].decode().replace(old, new).encode()
    with ctx.store.writing() as db:
        revisions.put_in_force(db, "0" * 64, files, ctx.now(), "edit")


def moved(ctx: Context, id: str, step: str) -> tuple[str, str]:
    """How the question stands in the checklist, and how it would on another step."""
    return f'id = "{id}"\nstep = "{ctx.book.questions[id].step}"', f'id = "{id}"\nstep = "{step}"'


def test_an_answer_to_a_question_that_moved_to_another_step_stands(
    phone: Any, ticket: str, held: Held, ctx: Context
) -> None:
    other_book(ctx, *moved(ctx, "relief", "action"))
    assert ctx.book.questions["relief"].step == "action"

    answer = phone.save(ticket, "neck", [("relief", "0.008 in"), ("twist", "none")])

    assert answer.status_code == 200
    assert held(ticket) == {"relief": "0.008 in", "twist": "none"}


def test_an_answer_whose_question_came_to_a_step_is_not_taken_back_by_a_page_without_it(
    phone: Any, ticket: str, held: Held, ctx: Context, clock: Any
) -> None:
    phone.save(ticket, "neck", [("relief", "0.008 in")])
    shown = phone.save(ticket, "action", [("saddle_showing", "1/8 in")]).headers["Revision"]
    clock.move(minutes=1)
    other_book(ctx, *moved(ctx, "relief", "action"))

    phone.save(ticket, "action", [("saddle_showing", "1/8 in")], based_on=int(shown))

    assert held(ticket) == {"relief": "0.008 in", "saddle_showing": "1/8 in"}


def test_an_answer_that_left_the_book_many_revisions_ago_is_kept(
    phone: Any, ticket: str, held: Held, ctx: Context
) -> None:
    before = revisions.in_force(ctx.store.db)
    assert before
    files = dict(revisions.files_of(ctx.store.db, before.number))
    blocks = files["checklist.toml"].decode().split("[[question]]")
    left = [block for block in blocks if 'id = "serial"' not in block]
    files["checklist.toml"] = "[[question]]".join(left).encode()
    with ctx.store.writing() as db:
        for number in range(25):
            revisions.put_in_force(db, f"{number:064}", files, ctx.now(), "edit")

    phone.save(ticket, "instrument", [("family", "ukulele"), ("serial", "S 1")])

    assert held(ticket) == {"family": "ukulele", "serial": "S 1"}
