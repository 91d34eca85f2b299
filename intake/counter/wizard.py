"""The wizard as one document, blank or filled, and the whole form that posts without JavaScript."""

from __future__ import annotations

from uuid import UUID

from flask import Response, abort, make_response, redirect, render_template, request, url_for
from sqlite_utils import Database

from intake.book.model import Book
from intake.counter.blueprint import counter
from intake.counter.desk import Desk, desk
from intake.counter.forms import PASSED, fields_of_step
from intake.counter.heard import heard
from intake.counter.ids import uuid7
from intake.counter.images import Picture, Refused, as_jpeg
from intake.counter.installing import build
from intake.counter.once import Effect, prepared_once
from intake.counter.photographs import take_photo
from intake.counter.saving import device_name, save_entry, write_words
from intake.counter.sheet import Sheet
from intake.store import photos, steps, tickets
from intake.store.steps import Entry


@counter.get("/walkin")
def blank_wizard() -> Response:
    """The same document for everyone, so that a phone may keep it."""
    here = desk()
    answer = Response(wizard_page(here, here.store.db, None, Sheet(here, {}, {})))
    answer.headers["Cache-Control"] = "no-cache"
    answer.headers["Build"] = build()  # a phone keeps no other answer than this
    return answer


@counter.get("/tickets/<uuid:ticket>")
def wizard(ticket: UUID) -> str:
    """The wizard filled in; blank for an id that a phone has made and not sent yet."""
    return _read(str(ticket))


@counter.get("/tickets/<uuid:ticket>/quote")
def quote_step(ticket: UUID) -> str:
    """The wizard at its last step."""
    return _read(str(ticket), at="quote")


@counter.post("/walkin")
def save_new() -> Response:
    """The whole form of a ticket that has no id yet."""
    ticket = str(uuid7(desk().now()))
    return prepared_once(lambda: _whole_form(ticket))


@counter.post("/tickets/<uuid:ticket>")
def save_all(ticket: UUID) -> Response:
    """The whole form."""
    return prepared_once(lambda: _whole_form(str(ticket)))


def _read(ticket: str, at: str = "") -> str:
    here = desk()
    with here.store.reading() as db:
        return wizard_page(here, db, ticket, Sheet.of(here, db, ticket), at)


def wizard_page(here: Desk, db: Database, ticket: str | None, sheet: Sheet, at: str = "") -> str:
    """The whole document; `at` names the step to open."""
    return render_template(
        "counter/wizard.html",
        book=here.book,
        ticket=tickets.find(db, ticket) if ticket else None,
        ticket_id=ticket or "",
        steps=sheet.views(),
        at=at,
        photos=photos.of_ticket(db, ticket) if ticket else [],
        complaint_steps=complaint_steps(here.book),
        heard=heard(db, ticket) if ticket else None,
        discount_problem=sheet.discount_problem,
        **(sheet.summary.context() if sheet.summary else {"summary": None}),
    )


def complaint_steps(book: Book) -> dict[str, list[str]]:
    """Complaint id → ids of the steps that it calls for."""
    asked = book.questions.get("complaints")
    return {
        complaint.id: [step.id for step in book.steps if step.always or complaint.id in step.needed_for]
        for complaint in (asked.values if asked else ())
    }


def _whole_form(ticket: str) -> Effect:
    """Decode the photos, then save the rest with them. A refused one must not cost what came with it."""
    pictures, refused = [], {}
    for file in request.files.getlist("photos"):
        try:
            if file.filename:
                pictures.append(as_jpeg(file.stream.read()))
        except Refused as error:
            refused["photos"] = str(error)
    return lambda db: _save_all(db, ticket, pictures, refused)


def _save_all(db: Database, ticket: str, pictures: list[Picture], refused: dict[str, str]) -> Response:
    """Store every step that changed. What is wrong comes back beside its field, with all that was typed."""
    here = desk()
    clashed = [_save_changed(here, db, ticket, step.id) for step in here.book.steps]
    for picture in pictures:
        take_photo(here, db, ticket, picture)
    sheet = Sheet.of(here, db, ticket)
    sheet.refused.update(refused)
    if tickets.find(db, ticket):
        write_words(here, db, ticket, sheet)
    if any(clashed) or sheet.problems:
        page = wizard_page(here, db, ticket, sheet, _first_wrong(here, sheet))
        return Response(page, 412 if any(clashed) else 422)
    view = "counter.quote_step" if request.form.get("go") == "quote" else "counter.wizard"
    return make_response(redirect(url_for(view, ticket=ticket), 303))


def _first_wrong(here: Desk, sheet: Sheet) -> str:
    return next((here.book.questions[id].step for id in here.book.questions if id in sheet.problems), "")


def _save_changed(here: Desk, db: Database, ticket: str, step: str) -> bool:
    """Save the step if the form says something new of it. True if it clashed."""
    old = steps.latest(db, ticket).get(step, Entry(step, ()))
    typed = fields_of_step(here.book, step, request.form.items(multi=True))
    new = Entry(step, typed, _passed(old, typed), device_name())
    if new.same_words(old):
        return False
    return save_entry(here, db, ticket, new, _based_on(step)).refused is not None


def _passed(old: Entry, typed: steps.Pairs) -> str:
    """The button pressed, else as before; a step that was not assessed is, once somebody fills it in."""
    pressed = request.form.get(f"passed.{old.step}")
    if pressed is None:
        return "" if old.passed == "not_assessed" and typed != old.fields else old.passed
    if pressed not in PASSED:
        abort(400)
    return pressed


def _based_on(step: str) -> int:
    text = request.form.get(f"based_on.{step}", "0")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0
