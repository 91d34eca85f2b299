"""The wizard's last step: the quote as it stands is frozen."""

from __future__ import annotations

from uuid import UUID

from flask import Response, make_response

from intake.screens.wizard.blueprint import blueprint
from intake.screens.wizard.page import wizard_page
from intake.services import documents
from intake.services.erasure import refuse_erased
from intake.services.quote_keeping import Draft, keep, still_holds
from intake.services.ticket_view import TicketView
from intake.services.walkins import as_json
from intake.store import quotes, tickets
from intake.web.context import current_context
from intake.web.idempotency import answered_once
from intake.web.identity import current_identity
from intake.web.origin import ticket_address
from intake.web.redirects import see_other


@blueprint.post("/tickets/<uuid:ticket>/quotes")
def freeze_quote(ticket: UUID) -> Response:
    """Freeze the quote as it stands; an unchanged ticket keeps its revision while that is valid."""
    ctx, id = current_context(), str(ticket)
    with ctx.store.reading() as db:
        refuse_erased(db, id)
        sheet = TicketView.of(ctx, db, id)
        found, last = tickets.find(db, id), quotes.latest(db, id)
        wrong = sheet.problems or sheet.clashes or sheet.discount_problem
        if found is None or sheet.summary is None or wrong:
            return make_response(wizard_page(ctx, db, id, sheet, at="quote"), 422)
    walkin = as_json(sheet.walkin)
    if last and still_holds(ctx, last, walkin, sheet.discount):
        return answered_once(lambda db: _to_quote(id, last.revision))
    revision = last.revision + 1 if last else 1
    price = sheet.summary
    by, url = current_identity().by, ticket_address(id)
    job = documents.job_of(ctx, price.book, price.quote, sheet.walkin, found, revision, url, by.who)
    draft = Draft(walkin, price, revision, documents.first_pdf(job), by)
    return answered_once(lambda db: _to_quote(id, keep(ctx, db, id, draft)))


def _to_quote(ticket: str, revision: int) -> Response:
    return see_other("quotes.quote", ticket=ticket, revision=revision)
