"""A discount on a ticket: how much, and why; the quote prints both."""

from __future__ import annotations

from decimal import Decimal
from uuid import UUID

from flask import Response, abort, make_response, render_template
from sqlite_utils import Database

from intake.quoting.discount import share_given
from intake.quoting.model import Discount
from intake.quoting.selection import Menu
from intake.screens.quotes.blueprint import blueprint
from intake.screens.quotes.forms import DiscountForm
from intake.services.context import Context
from intake.services.discount_limit import limit_of, limit_sentence
from intake.services.erasure import refuse_erased
from intake.services.saving import write_words
from intake.services.ticket_view import TicketView
from intake.store import discounts, tickets
from intake.store.discounts import Given
from intake.web.context import current_context
from intake.web.idempotency import idempotent
from intake.web.identity import current_identity, note
from intake.web.redirects import see_other


@blueprint.get("/tickets/<uuid:ticket>/discount")
def discount_page(ticket: UUID) -> Response:
    """The discount as it stands."""
    ctx = current_context()
    with ctx.store.reading() as db:
        given = discounts.find(db, str(ticket))
        form = DiscountForm(data=_as_typed(given) if given else {})
        return _page(ctx, db, str(ticket), form, given)


@blueprint.post("/tickets/<uuid:ticket>/discount")
@idempotent
def give_discount(db: Database, ticket: UUID) -> Response:
    """Give it, in place of an earlier one; `withdraw` takes it back."""
    ctx, id = current_context(), str(ticket)
    if tickets.find(db, id) is None:
        abort(404)
    refuse_erased(db, id)
    form = DiscountForm.posted()
    if form.withdraw.data:
        if discounts.withdraw(db, id):
            note(db, "discount withdrawn", ticket=id)
            write_words(ctx, db, id, TicketView.of(ctx, db, id))
        return _back(id)
    wanted = form.discount()
    if wanted is None or not _allowed(ctx, db, id, wanted, form):
        return _page(ctx, db, id, form, discounts.find(db, id), 422)
    given = Given(id, str(wanted.rate), str(wanted.amount), wanted.reason, current_identity().by.who, _role())
    discounts.give(db, given, ctx.now())
    note(db, "discount given", ticket=id, rate=given.rate, amount=given.amount, reason=given.reason)
    write_words(ctx, db, id, TicketView.of(ctx, db, id))
    return _back(id)


def _allowed(ctx: Context, db: Database, ticket: str, wanted: Discount, form: DiscountForm) -> bool:
    """Staff give up to the shop's `discount_most`, the owner anything; else the form says so."""
    sheet, most = TicketView.of(ctx, db, ticket), limit_of(_role(), ctx.book.shop)
    sheet.discount = None
    summary = sheet.summary
    whole = Menu(summary.quote, summary.book).whole if summary else Decimal(0)
    if share_given(wanted, whole) > most:
        form.refuse("amount" if wanted.amount else "percent", limit_sentence(most))
    return not form.errors


def _role() -> str:
    person = current_identity().person
    return person.role if person else ""


def _as_typed(given: Given) -> dict[str, str]:
    percent = (Decimal(given.rate) * 100).normalize()
    return {
        "percent": f"{percent:f}" if percent else "",
        "amount": given.amount if Decimal(given.amount) else "",
        "reason": given.reason,
    }


def _page(
    ctx: Context,
    db: Database,
    ticket: str,
    form: DiscountForm,
    given: Given | None,
    status: int = 200,
) -> Response:
    page = render_template(
        "quotes/discount.html",
        ticket=tickets.find(db, ticket) or abort(404),
        currency=ctx.book.shop.currency,
        form=form,
        given=given,
    )
    return make_response(page, status)


def _back(ticket: str) -> Response:
    return see_other("wizard.quote_step", ticket=ticket)
