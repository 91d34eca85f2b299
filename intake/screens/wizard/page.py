"""The wizard as one document, blank or filled, and the whole form that posts without JavaScript."""

from __future__ import annotations

from uuid import UUID

from flask import Response, render_template, request
from sqlite_utils import Database

from intake.book.model import Book
from intake.i18n import _
from intake.screens.wizard import neck
from intake.screens.wizard.blueprint import blueprint
from intake.screens.wizard.context import page_context, unasked
from intake.screens.wizard.photos import take_photo
from intake.screens.wizard.steps import device_name
from intake.screens.wizard.whole_form import WholeForm, edits_of_page
from intake.services.context import Context
from intake.services.edits import Taken
from intake.services.images import MOST_AT_ONCE, ImageError, Picture, as_jpeg
from intake.services.responses import responses_of
from intake.services.saving import take_edits, write_words
from intake.services.ticket_view import TicketView
from intake.store import photos, tickets
from intake.store.ids import uuid7
from intake.web.build import build
from intake.web.context import current_context
from intake.web.idempotency import Effect, form_key, prepared_once
from intake.web.identity import current_identity, note
from intake.web.redirects import see_other


@blueprint.get("/walkin")
def blank_wizard() -> Response:
    """The same document for everyone, so that a phone may keep it."""
    ctx = current_context()
    answer = Response(wizard_page(ctx, ctx.store.db, None, TicketView(ctx, {}, {})))
    answer.headers["Cache-Control"] = "no-cache"
    answer.headers["Build"] = build()  # a phone keeps no other answer than this
    return answer


@blueprint.get("/tickets/<uuid:ticket>")
def wizard(ticket: UUID) -> str:
    """The wizard filled in; blank for an id that a phone has made and not sent yet."""
    return _read(str(ticket))


@blueprint.get("/tickets/<uuid:ticket>/quote")
def quote_step(ticket: UUID) -> str:
    """The wizard at its last step."""
    return _read(str(ticket), at="quote")


@blueprint.post("/walkin")
def save_new() -> Response:
    """The whole form of a ticket that has no id yet."""
    ticket = str(uuid7(current_context().now()))
    return prepared_once(lambda: _whole_form(ticket), form_key())


@blueprint.post("/tickets/<uuid:ticket>")
def save_all(ticket: UUID) -> Response:
    """The whole form."""
    return prepared_once(lambda: _whole_form(str(ticket)), form_key())


def _read(ticket: str, at: str = "") -> str:
    ctx = current_context()
    with ctx.store.reading() as db:
        return wizard_page(ctx, db, ticket, TicketView.of(ctx, db, ticket), at)


def wizard_page(ctx: Context, db: Database, ticket: str | None, sheet: TicketView, at: str = "") -> str:
    """The whole document; `at` names the step to open."""
    steps = sheet.views()
    return render_template(
        "wizard/wizard.html",
        ticket=tickets.find(db, ticket) if ticket else None,
        ticket_id=ticket or "",
        form_key=uuid7(ctx.now()) if ticket else "",
        steps=steps,
        fields=neck.fields(len(steps)),
        at=at,
        unasked=unasked(sheet),
        photos=[(photo, sheet.keeps(photo.id)) for photo in photos.shown(db, ticket)] if ticket else [],
        complaint_steps=complaint_steps(ctx.book),
        heard=responses_of(db, ticket) if ticket else None,
        **page_context(sheet),
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
    sent = [file for file in request.files.getlist("photos") if file.filename]
    pictures, refused = [], {}
    for file in sent[:MOST_AT_ONCE]:
        try:
            pictures.append(as_jpeg(file.stream.read()))
        except ImageError as error:
            refused["photos"] = str(error)
    if len(sent) > MOST_AT_ONCE:
        words = _("The first {number} photos were kept; choose the others again.", number=MOST_AT_ONCE)
        refused.setdefault("photos", words)
    return lambda db: _save_all(db, ticket, pictures, refused)


def _save_all(db: Database, ticket: str, pictures: list[Picture], refused: dict[str, str]) -> Response:
    """Take in every part that changed. What is wrong comes back beside its field, with all that was typed."""
    ctx = current_context()
    sent = edits_of_page(db, ctx.book, ticket)
    taken = take_edits(ctx, db, ticket, sent, current_identity().by, device_name()) if sent else Taken()
    if sent:
        note(db, "form clashed" if taken.clashed else "form saved", ticket=ticket)
    for picture in pictures:
        take_photo(ctx, db, ticket, picture)
    sheet = TicketView.of(ctx, db, ticket)
    sheet.refused.update(refused)
    if tickets.find(db, ticket):
        write_words(ctx, db, ticket, sheet)
    if taken.clashed or sheet.problems:
        page = wizard_page(ctx, db, ticket, sheet, _first_wrong(ctx, sheet))
        return Response(page, 412 if taken.clashed else 422)
    view = "wizard.quote_step" if WholeForm.posted().go.data == "quote" else "wizard.wizard"
    return see_other(view, ticket=ticket)


def _first_wrong(ctx: Context, sheet: TicketView) -> str:
    clashed = next((clash.step for clash in sheet.clashes), "")
    wrong = (ctx.book.questions[id].step for id in ctx.book.questions if id in sheet.problems)
    return clashed or next(wrong, "")
