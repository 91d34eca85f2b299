"""What the owner does when customers ask for their data, or to be forgotten."""

from __future__ import annotations

from datetime import date
from typing import Any
from uuid import UUID

from flask import Response, abort, url_for
from sqlite_utils import Database

from intake.i18n import _, current_language
from intake.screens.quotes.blueprint import blueprint
from intake.screens.quotes.forms import EraseForm
from intake.store import privacy, tickets
from intake.store.scrubbing import is_unfinished
from intake.store.ticket_state import TicketState
from intake.store.tickets import Ticket
from intake.web import private_pages
from intake.web.context import current_context
from intake.web.identity import note


@blueprint.get("/tickets/<uuid:ticket>/privacy")
def privacy_page(ticket: UUID) -> Response:
    """The tickets that are this customer's, to be handed out or erased."""
    with current_context().store.reading() as db:
        return _page(_ticket(db, ticket), _of_the_same(db, _ticket(db, ticket)))


@blueprint.post("/tickets/<uuid:ticket>/privacy/export")
def hand_out(ticket: UUID) -> Response:
    """A zip with all that the store holds of the tickets that were picked."""
    store = current_context().store
    with store.writing() as db:
        found = _ticket(db, ticket)
        ids = _picked(db, found, EraseForm.posted())
        for id in ids:
            note(db, "customer's data handed out", ticket=id)
    answer = private_pages.answer("")
    answer.set_data(privacy.export(store, ids))
    answer.mimetype = "application/zip"
    answer.headers["Content-Disposition"] = f'attachment; filename="customer-{found.number}.zip"'
    return answer


@blueprint.post("/tickets/<uuid:ticket>/privacy/erase")
def forget(ticket: UUID) -> Response:
    """Erase the tickets that were picked. The number, typed, stands for "I mean it"."""
    ctx = current_context()
    with ctx.store.reading() as db:
        found = _ticket(db, ticket)
        form = EraseForm.posted()
        ids = _picked(db, found, form)
        if (form.number.data or "").lstrip("#") != str(found.number):
            words = _("Nothing was erased: type the number of this ticket to say that you mean it.")
            return _page(found, _of_the_same(db, found), form.refuse("number", words))
    privacy.erase(ctx.store, ids, ctx.now())
    with ctx.store.writing() as db:
        for id in ids:
            note(db, "erasing asked for", ticket=id)
        return _page(_ticket(db, ticket), [], done=True)


def _ticket(db: Database, ticket: UUID) -> Ticket:
    return tickets.find(db, str(ticket)) or abort(404)


def _of_the_same(db: Database, ticket: Ticket) -> list[Ticket]:
    """This ticket, and those with both the same name and the same telephone."""
    same = set(privacy.find(db, ticket.name)) & set(privacy.find(db, ticket.phone))
    found = [tickets.find(db, id) for id in same - {ticket.id}]
    return [ticket, *sorted((one for one in found if one), key=lambda one: -one.number)]


def _picked(db: Database, ticket: Ticket, form: EraseForm) -> list[str]:
    """Aborts with 400 for none, and for tickets of somebody else."""
    known = [one.id for one in _of_the_same(db, ticket)]
    picked = form.tickets.data or []
    if not picked or not set(picked) <= set(known):
        abort(400, _("Pick at least one ticket of this customer."))
    return [id for id in known if id in picked]


def _page(ticket: Ticket, same: list[Ticket], form: EraseForm | None = None, done: bool = False) -> Response:
    context: dict[str, Any] = {
        "ticket": ticket,
        "here": url_for("wizard.wizard", ticket=ticket.id),
        "same": [(one, date.fromisoformat(one.created[:10]).isoformat()) for one in same],
        "form": form or EraseForm(),
        "done": done,
        "erased": ticket.state == TicketState.ERASED,
        "unfinished": is_unfinished(current_context().store.folder),
    }
    return private_pages.answer(
        private_pages.render("quotes/privacy.html", current_language(), **context), 422 if form else 200
    )
