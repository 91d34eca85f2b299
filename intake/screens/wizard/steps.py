"""One step's save, as the phone sends it, and what every save writes besides."""

from __future__ import annotations

from uuid import UUID

from flask import Response, abort, render_template, request
from sqlite_utils import Database

from intake.i18n.messages import _
from intake.screens.wizard.blueprint import blueprint
from intake.services.responses import responses_of
from intake.services.retired_questions import fields_asked_before
from intake.services.saving import save_entry, write_words
from intake.services.step_form import PASSED, fields_of_step
from intake.services.ticket_view import TicketView
from intake.store import steps, tickets
from intake.store.steps import Entry
from intake.web.context import current_context
from intake.web.idempotency import answered_once
from intake.web.identity import current_identity, note
from intake.web.redirects import see_other


@blueprint.post("/tickets/<uuid:ticket>/steps/<step>")
def save_step(ticket: UUID, step: str) -> Response:
    """Store one step's whole field set. 200 stored, 422 stored with messages, 412 both values stored."""
    if current_context().step(step) is None:
        abort(404, _no_such_step(step))
    entry = _sent(step)
    based_on = _number(request.form.get("based_on", "0"))
    return answered_once(lambda db: _save(db, str(ticket), entry, based_on))


def _no_such_step(step: str) -> str:
    """What a phone shows beside an entry that was taken down while an earlier book was in force."""
    return _(
        "The book has no step “%(step)s” any more, so what was answered in it has no place here. It is "
        "still on this phone: take it off as a file, or try again once the owner uses the earlier book.",
        step=step,
    )


@blueprint.post("/tickets/<uuid:ticket>/steps/<step>/settled")
def settle_step(ticket: UUID, step: str) -> Response:
    """Choose between the two values of a clash: `keep` is theirs, what stands, or mine, what lost."""
    ctx, id, keep = current_context(), str(ticket), request.form.get("keep")
    if ctx.step(step) is None:
        abort(404)
    if keep not in ("mine", "theirs"):
        abort(400, _("Say which of the two values holds."))

    def effect(db: Database) -> Response:
        clash = steps.open_clashes(db, id).get(step)
        if clash and keep == "mine":
            save_entry(ctx, db, id, clash, steps.latest(db, id)[step].revision, current_identity().by)
            write_words(ctx, db, id, TicketView.of(ctx, db, id))
        if clash:
            steps.settle(db, id, step, ctx.now())
            note(db, "clash settled", ticket=id, step=step, keep=keep)
        return see_other("wizard.wizard", ticket=id, _anchor=step)

    return answered_once(effect)


@blueprint.get("/tickets/<uuid:ticket>/summary")
def summary(ticket: UUID) -> str:
    """What the quote step shows: the quote as it would be now."""
    ctx = current_context()
    with ctx.store.reading() as db:
        sheet = TicketView.of(ctx, db, str(ticket))
        found = tickets.find(db, str(ticket))
        said = responses_of(db, str(ticket))
    context = sheet.summary.context() if sheet.summary else {"summary": None, "problems": sheet.problems}
    return render_template(
        "wizard/summary.html",
        book=ctx.book,
        ticket=found,
        ticket_id=str(ticket),
        heard=said,
        fetched=True,
        discount_problem=sheet.discount_problem,
        **context,
    )


def _sent(step: str) -> Entry:
    passed = request.form.get("passed", "")
    if passed not in PASSED:
        abort(400)
    ctx, posted = current_context(), list(request.form.items(multi=True))
    typed = fields_of_step(ctx.book, step, posted)
    typed += fields_asked_before(ctx.store.db, ctx.book, step, posted)
    return Entry(step, typed, passed, device_name())


def device_name() -> str:
    """What the browser that sent this calls itself."""
    return request.headers.get("Device", "")[:100]


def _number(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        abort(400)
    return int(text)


def _save(db: Database, ticket: str, entry: Entry, based_on: int) -> Response:
    ctx = current_context()
    saved = save_entry(ctx, db, ticket, entry, based_on, current_identity().by)
    sheet = TicketView.of(ctx, db, ticket)
    write_words(ctx, db, ticket, sheet)
    step = ctx.step(entry.step)
    assert step is not None
    view = sheet.view(step)
    price = sheet.summary
    revision = based_on if saved.refused or saved.unseen else view.revision
    page = render_template(
        "wizard/saved.html",
        book=ctx.book,
        ticket=tickets.find(db, ticket),
        ticket_id=ticket,
        view=view,
        step=step,
        revision=revision,
        clash=view.clash if saved.refused else (),
        findings=price.findings_of(step.id) if price else (),
        summary=price,
    )
    status = 412 if saved.refused else 422 if view.problems else 200
    return Response(page, status, {"Revision": str(revision)})
