"""A discount on a ticket: how much, and why; the quote prints both."""

from __future__ import annotations

import re
from decimal import Decimal
from uuid import UUID

from flask import Response, abort, make_response, render_template, request
from sqlite_utils import Database

from intake.i18n import _
from intake.quoting.discount import share_given
from intake.quoting.model import Discount
from intake.quoting.money import digits_of, to_money
from intake.quoting.selection import Menu
from intake.screens.quotes.blueprint import blueprint
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

LONGEST_REASON = 120
NUMBER = re.compile(r"[0-9]{1,9}(\.[0-9]{0,20})?|\.[0-9]{1,20}")
"""Decimal itself also takes `1_5`, `1e3`, `NaN` and the digits of other scripts."""


class DiscountError(ValueError):
    """What was typed is no discount, or not one that this person may give; `field` is the one to mend."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field


@blueprint.get("/tickets/<uuid:ticket>/discount")
def discount_page(ticket: UUID) -> Response:
    """The discount as it stands."""
    ctx = current_context()
    with ctx.store.reading() as db:
        given = discounts.find(db, str(ticket))
        typed = _as_typed(given) if given else {}
        return _page(ctx, db, str(ticket), typed, given=given)


@blueprint.post("/tickets/<uuid:ticket>/discount")
@idempotent
def give_discount(db: Database, ticket: UUID) -> Response:
    """Give it, in place of an earlier one; `withdraw` takes it back."""
    ctx, id = current_context(), str(ticket)
    if tickets.find(db, id) is None:
        abort(404)
    refuse_erased(db, id)
    if "withdraw" in request.form:
        if discounts.withdraw(db, id):
            note(db, "discount withdrawn", ticket=id)
            write_words(ctx, db, id, TicketView.of(ctx, db, id))
        return _back(id)
    try:
        wanted = _read(ctx)
        _allowed(ctx, db, id, wanted)
    except DiscountError as error:
        found = discounts.find(db, id)
        return _page(ctx, db, id, request.form, found, {error.field: str(error)}, 422)
    given = Given(id, str(wanted.rate), str(wanted.amount), wanted.reason, current_identity().by.who, _role())
    discounts.give(db, given, ctx.now())
    note(db, "discount given", ticket=id, rate=given.rate, amount=given.amount, reason=given.reason)
    write_words(ctx, db, id, TicketView.of(ctx, db, id))
    return _back(id)


def _read(ctx: Context) -> Discount:
    """The form as a discount. Raises NotGiven."""
    reason = " ".join(request.form.get("reason", "").split())[:LONGEST_REASON]
    percent, amount = _number("percent"), _number("amount")
    if percent > 100:
        raise DiscountError("percent", _("A discount is between 0 % and 100 %."))
    if amount != to_money(amount, digits_of(ctx.book.shop.currency)):
        raise DiscountError("amount", _("This currency has no coins that small."))
    if not percent and not amount:
        raise DiscountError("percent", _("Write a share or an amount."))
    if not reason:
        raise DiscountError("reason", _("A discount has a reason; the quote prints it."))
    return Discount(reason, percent / 100, amount)


def _number(field: str) -> Decimal:
    """What is typed there, with a point or a comma; nothing is 0. Raises NotGiven."""
    text = request.form.get(field, "").strip().removesuffix("%").strip().replace(",", ".") or "0"
    if not NUMBER.fullmatch(text):
        raise DiscountError(field, _("Write a number, as 10 or 12.50."))
    return Decimal(text)


def _allowed(ctx: Context, db: Database, ticket: str, wanted: Discount) -> None:
    """Staff give up to the shop's `discount_most`, the owner anything. Raises NotGiven."""
    sheet, most = TicketView.of(ctx, db, ticket), limit_of(_role(), ctx.book.shop)
    sheet.discount = None
    summary = sheet.summary
    whole = Menu(summary.quote, summary.book).whole if summary else Decimal(0)
    if share_given(wanted, whole) > most:
        raise DiscountError("amount" if wanted.amount else "percent", limit_sentence(most))


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
    typed: object,
    given: Given | None = None,
    problems: dict[str, str] | None = None,
    status: int = 200,
) -> Response:
    page = render_template(
        "quotes/discount.html",
        ticket=tickets.find(db, ticket) or abort(404),
        currency=ctx.book.shop.currency,
        typed=typed,
        given=given,
        problems=problems or {},
    )
    return make_response(page, status)


def _back(ticket: str) -> Response:
    return see_other("wizard.quote_step", ticket=ticket)
