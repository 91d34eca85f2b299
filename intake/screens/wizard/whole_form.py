"""The wizard as one form that posts without script: each part with value, base and the value shown."""

from __future__ import annotations

from collections.abc import Mapping
from uuid import uuid4

from flask import abort
from sqlite_utils import Database
from wtforms import HiddenField

from intake.book.model import Book
from intake.book.parts import PASSED, question_of
from intake.services.edits import Sent
from intake.services.retired_questions import kinds_asked_before
from intake.services.step_entries import edits_of_form, kinds_of
from intake.services.step_form import PASSED as WAYS
from intake.store import edits
from intake.web.forms import PageForm, posted_pairs
from intake.web.idempotency import form_key

Page = dict[str, tuple[str, str]]


class WholeForm(PageForm):
    """The buttons of the whole form; its other fields are parts of the book's questions (`edits_of_form`)."""

    go = HiddenField()
    choose = HiddenField()


def edits_of_page(db: Database, book: Book, ticket: str) -> list[Sent]:
    """What the posted form says anew: answers, buttons that pass a step, a choice in a clash."""
    posted = [(name, text.replace("\r\n", "\n")) for name, text in posted_pairs()]
    page = _page(posted)
    kinds = kinds_of(book, kinds_asked_before(db))
    pairs = [(name, text) for name, text in posted if name.split(".")[0] in kinds]
    key = form_key() or str(uuid4())
    sent = edits_of_form(book, kinds, key, pairs, page)
    sent += _passed(book, key, page, dict(posted), {question_of(edit.part) for edit in sent})
    chosen = _choice(db, ticket, key, page, WholeForm.posted().choose.data or "")
    return [edit for edit in sent if edit.part not in {one.part for one in chosen}] + chosen


def _page(posted: list[tuple[str, str]]) -> Page:
    """Part → its base and the value, as the page showed them."""
    base = {name.removeprefix("base."): text for name, text in posted if name.startswith("base.")}
    shown = {name.removeprefix("shown."): text for name, text in posted if name.startswith("shown.")}
    return {part: (ids, shown.get(part, "")) for part, ids in base.items()}


def _passed(book: Book, key: str, page: Page, posted: Mapping[str, str], changed: set[str]) -> list[Sent]:
    """The buttons pressed; a step that was not assessed is, once somebody fills it in."""
    sent = []
    for step in book.steps:
        part = f"{PASSED}{step.id}"
        base, shown = page.get(part, ("", ""))
        pressed = posted.get(part)
        if pressed is not None and pressed not in WAYS:
            abort(400)
        filled = any(book.questions[id].step == step.id for id in changed if id in book.questions)
        wanted = pressed if pressed is not None else "" if shown == "not_assessed" and filled else shown
        if wanted != shown:
            sent.append(Sent(f"{key}.{step.id}", part, wanted, tuple(base.split())))
    return sent


def _choice(db: Database, ticket: str, key: str, page: Page, pressed: str) -> list[Sent]:
    """The value that was chosen in a clash, on top of all that the page showed."""
    part, _, id = pressed.partition("=")
    found = edits.find(db, id) if id else None
    if found is None or (found.ticket, found.part) != (ticket, part):
        return []
    base = page.get(part, (id, ""))[0].split()
    return [Sent(f"{key}.choice", part, found.value, tuple(base))]
