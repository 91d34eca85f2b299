"""What every save writes besides, and the save of one step by a page that knows no edits."""

from __future__ import annotations

from uuid import UUID, uuid4

from flask import Response, abort, render_template, request
from sqlite_utils import Database
from wtforms import HiddenField

from intake.book.plain_text import plain
from intake.i18n import _
from intake.screens.wizard.blueprint import blueprint
from intake.screens.wizard.context import page_context, unasked
from intake.services.edits import Sent
from intake.services.responses import responses_of
from intake.services.retired_questions import kinds_asked_before, steps_asked_before
from intake.services.saving import take_edits, write_words
from intake.services.step_entries import Entry, edits_of_entry, kinds_of, unseen
from intake.services.step_form import PASSED, own_fields
from intake.services.ticket_view import TicketView
from intake.store import tickets
from intake.web.context import current_context
from intake.web.forms import PageForm, posted_pairs
from intake.web.idempotency import answered_once, idempotent, sent_key
from intake.web.identity import current_identity, note
from intake.web.numbers import whole_number
from intake.web.redirects import see_other


class StepEntryForm(PageForm):
    """What a whole step says of itself; its other fields are the answers."""

    passed = HiddenField()
    based_on = HiddenField()
    keep = HiddenField()


@blueprint.post("/tickets/<uuid:ticket>/steps/<step>")
def save_step(ticket: UUID, step: str) -> Response:
    """A whole step from a page that knows no edits. 200 stored, 422 stored with messages, 412 clash."""
    if current_context().step(step) is None and step not in steps_asked_before(current_context().store.db):
        abort(404, _no_such_step(step))
    entry = _sent(step)
    return answered_once(lambda db: _save(db, str(ticket), entry))


def _no_such_step(step: str) -> str:
    """What a phone shows beside an entry that was taken down while an earlier book was in force."""
    return _(
        "The book has no step “{step}” any more, so what was answered in it has no place here. It is "
        "still on this phone: take it off as a file, or try again once the owner uses the earlier book.",
        step=step,
    )


@blueprint.post("/tickets/<uuid:ticket>/steps/<step>/settled")
@idempotent
def settle_step(db: Database, ticket: UUID, step: str) -> Response:
    """Choose in a step's clashes, on a page that knows two sides: `keep` is theirs, what stood first, or
    mine, the last."""
    ctx, id, keep = current_context(), str(ticket), StepEntryForm.posted().keep.data
    if ctx.step(step) is None:
        abort(404)
    if keep not in ("mine", "theirs"):
        abort(400, _("Say which of the two values holds."))
    clashes = [clash for clash in TicketView.of(ctx, db, id).clashes if clash.step == step]
    chosen = [(clash, clash.sides[-1 if keep == "mine" else 0].edit.value) for clash in clashes]
    sent = [Sent(str(uuid4()), clash.part, value, tuple(clash.base.split())) for clash, value in chosen]
    if sent:
        take_edits(ctx, db, id, sent, current_identity().by, device_name())
        write_words(ctx, db, id, TicketView.of(ctx, db, id))
        note(db, "clash settled", ticket=id, step=step, keep=keep)
    return see_other("wizard.wizard", ticket=id, _anchor=step)


@blueprint.get("/tickets/<uuid:ticket>/summary")
def summary(ticket: UUID) -> str:
    """What the quote step shows: the quote as it would be now."""
    ctx = current_context()
    with ctx.store.reading() as db:
        sheet = TicketView.of(ctx, db, str(ticket))
        found = tickets.find(db, str(ticket))
        said = responses_of(db, str(ticket))
    return render_template(
        "wizard/summary.html",
        ticket=found,
        ticket_id=str(ticket),
        heard=said,
        unasked=unasked(sheet),
        fetched=True,
        **page_context(sheet),
    )


def _sent(step: str) -> Entry:
    form = StepEntryForm.posted()
    passed = form.passed.data or ""
    if passed not in PASSED:
        abort(400)
    ctx, posted = current_context(), posted_pairs()
    typed = own_fields(ctx.book, kinds_asked_before(ctx.store.db, step), step, posted)
    return Entry(step, typed, passed, _number(form.based_on.data or "0"), sent_key())


def device_name() -> str:
    """What the browser that sent this calls itself."""
    return plain(request.headers.get("Device", ""))[:100]


def _number(text: str) -> int:
    number = whole_number(text)
    return abort(400) if number is None else number


def _save(db: Database, ticket: str, entry: Entry) -> Response:
    ctx = current_context()
    kinds = kinds_of(ctx.book, kinds_asked_before(db))
    sent = edits_of_entry(db, ctx.book, kinds, ticket, entry)
    taken = take_edits(ctx, db, ticket, sent, current_identity().by, device_name())
    note(db, "step clashed" if taken.clashed else "step saved", ticket=ticket, step=entry.step)
    sheet = TicketView.of(ctx, db, ticket)
    write_words(ctx, db, ticket, sheet)
    step = ctx.step(entry.step)
    if step is None:
        return Response(_("What was answered in this step is kept; the book does not ask it any more."))
    view = sheet.view(step)
    clashed = taken.clashed
    based_on = (
        entry.based_on if clashed or unseen(ctx.book, kinds, entry, sheet.parts) else sheet.life.version
    )
    page = render_template(
        "wizard/saved.html",
        ticket=tickets.find(db, ticket),
        ticket_id=ticket,
        views=[view],
        whole_step=True,
        based_on=based_on,
        **page_context(sheet),
    )
    status = 412 if clashed else 422 if view.problems else 200
    return Response(page, status, {"Revision": str(based_on)})
