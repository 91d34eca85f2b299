"""One step's save, as the phone sends it, and what every save writes besides."""

from __future__ import annotations

from uuid import UUID

from flask import Response, abort, make_response, redirect, render_template, request, url_for
from sqlite_utils import Database

from intake.counter.blueprint import counter
from intake.counter.desk import Desk, desk
from intake.counter.earlier import fields_asked_before
from intake.counter.erased import refuse_erased
from intake.counter.forms import PASSED, fields_of_step
from intake.counter.heard import heard
from intake.counter.once import answered_once
from intake.counter.sheet import Sheet
from intake.counter.summary import NO_PRICE
from intake.counter.who import note
from intake.counter.words import _
from intake.store import steps, tickets
from intake.store.steps import Entry, Saved

AGREED = ("signed", "done", "collected")
BOARD_WORDS = {"name": "customer_name", "phone": "customer_phone", "family": "family", "serial": "serial"}


@counter.post("/tickets/<uuid:ticket>/steps/<step>")
def save_step(ticket: UUID, step: str) -> Response:
    """Store one step's whole field set. 200 stored, 422 stored with messages, 412 both values stored."""
    if desk().step(step) is None:
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


@counter.post("/tickets/<uuid:ticket>/steps/<step>/settled")
def settle_step(ticket: UUID, step: str) -> Response:
    """Choose between the two values of a clash: `keep` is theirs, what stands, or mine, what lost."""
    here, id, keep = desk(), str(ticket), request.form.get("keep")
    if here.step(step) is None:
        abort(404)
    if keep not in ("mine", "theirs"):
        abort(400, _("Say which of the two values holds."))

    def effect(db: Database) -> Response:
        clash = steps.open_clashes(db, id).get(step)
        if clash and keep == "mine":
            save_entry(here, db, id, clash, steps.latest(db, id)[step].revision)
            write_words(here, db, id, Sheet.of(here, db, id))
        if clash:
            steps.settle(db, id, step, here.now())
            note(db, "clash settled", ticket=id, step=step, keep=keep)
        return make_response(redirect(url_for("counter.wizard", ticket=id, _anchor=step), 303))

    return answered_once(effect)


@counter.get("/tickets/<uuid:ticket>/summary")
def summary(ticket: UUID) -> str:
    """What the quote step shows: the quote as it would be now."""
    here = desk()
    with here.store.reading() as db:
        sheet = Sheet.of(here, db, str(ticket))
        found = tickets.find(db, str(ticket))
        said = heard(db, str(ticket))
    context = sheet.summary.context() if sheet.summary else {"summary": None, "problems": sheet.problems}
    return render_template(
        "counter/summary.html",
        book=here.book,
        ticket=found,
        ticket_id=str(ticket),
        heard=said,
        fetched=True,
        discount_problem=sheet.discount_problem,
        **context,
    )


def save_entry(here: Desk, db: Database, ticket: str, entry: Entry, based_on: int) -> Saved:
    """Open the ticket if need be, store the entry, and write down that it came."""
    refuse_erased(db, ticket)
    now = here.now()
    if tickets.ensure(db, ticket, now):
        note(db, "ticket opened", ticket=ticket)
    saved = steps.save(db, ticket, entry, based_on, now)
    what = "step clashed" if saved.refused else "step saved"
    note(db, what, ticket=ticket, step=entry.step, revision=saved.entry.revision)
    return saved


def write_words(here: Desk, db: Database, ticket: str, sheet: Sheet) -> None:
    """What the board shows of the ticket."""
    words = {column: str(sheet.walkin.answers.get(id, "")) for column, id in BOARD_WORDS.items()}
    price = sheet.summary.board_price() if sheet.summary else NO_PRICE
    now = tickets.find(db, ticket)
    if now and now.state in AGREED:  # what was agreed stands until a revised quote asks anew
        price = {}
    tickets.change(db, ticket, here.now(), **words, **price)


def _sent(step: str) -> Entry:
    passed = request.form.get("passed", "")
    if passed not in PASSED:
        abort(400)
    here, posted = desk(), list(request.form.items(multi=True))
    typed = fields_of_step(here.book, step, posted)
    typed += fields_asked_before(here.store.db, here.book, step, posted)
    return Entry(step, typed, passed, device_name())


def device_name() -> str:
    """What the browser that sent this calls itself."""
    return request.headers.get("Device", "")[:100]


def _number(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 10):
        abort(400)
    return int(text)


def _save(db: Database, ticket: str, entry: Entry, based_on: int) -> Response:
    here = desk()
    saved = save_entry(here, db, ticket, entry, based_on)
    sheet = Sheet.of(here, db, ticket)
    write_words(here, db, ticket, sheet)
    step = here.step(entry.step)
    assert step is not None
    view = sheet.view(step)
    price = sheet.summary
    revision = based_on if saved.refused or saved.unseen else view.revision
    page = render_template(
        "counter/saved.html",
        book=here.book,
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
