"""A discount on a ticket: how much, and why; the quote prints both."""

from __future__ import annotations

import re
from decimal import Decimal
from uuid import UUID

from flask import Response, abort, make_response, redirect, render_template, request, url_for
from sqlite_utils import Database

from intake.counter.blueprint import counter
from intake.counter.desk import Desk, desk
from intake.counter.discount_limit import limit_of, limit_sentence
from intake.counter.erased import refuse_erased
from intake.counter.once import answered_once
from intake.counter.saving import write_words
from intake.counter.sheet import Sheet
from intake.counter.who import note, visitor
from intake.counter.words import _
from intake.quoting.discount import share_given
from intake.quoting.model import Discount
from intake.quoting.money import digits_of, to_money
from intake.store import discounts, tickets
from intake.store.discounts import Given

LONGEST_REASON = 120
NUMBER = re.compile(r"[0-9]{1,9}(\.[0-9]{0,20})?|\.[0-9]{1,20}")
"""Decimal itself also takes `1_5`, `1e3`, `NaN` and the digits of other scripts."""


class NotGiven(ValueError):
    """What was typed is no discount, or not one that this person may give; `field` is the one to mend."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field


@counter.get("/tickets/<uuid:ticket>/discount")
def discount_page(ticket: UUID) -> Response:
    """The discount as it stands."""
    here = desk()
    with here.store.reading() as db:
        given = discounts.find(db, str(ticket))
        typed = _as_typed(given) if given else {}
        return _page(here, db, str(ticket), typed, given=given)


@counter.post("/tickets/<uuid:ticket>/discount")
def give_discount(ticket: UUID) -> Response:
    """Give it, in place of an earlier one; `withdraw` takes it back."""
    here, id = desk(), str(ticket)

    def effect(db: Database) -> Response:
        if tickets.find(db, id) is None:
            abort(404)
        refuse_erased(db, id)
        if "withdraw" in request.form:
            if discounts.withdraw(db, id):
                note(db, "discount withdrawn", ticket=id)
                write_words(here, db, id, Sheet.of(here, db, id))
            return _back(id)
        try:
            wanted = _read(here)
            _allowed(here, db, id, wanted)
        except NotGiven as error:
            found = discounts.find(db, id)
            return _page(here, db, id, request.form, found, {error.field: str(error)}, 422)
        given = Given(id, str(wanted.rate), str(wanted.amount), wanted.reason, visitor().by.who, _role())
        discounts.give(db, given, here.now())
        note(db, "discount given", ticket=id, rate=given.rate, amount=given.amount, reason=given.reason)
        write_words(here, db, id, Sheet.of(here, db, id))
        return _back(id)

    return answered_once(effect)


def _read(here: Desk) -> Discount:
    """The form as a discount. Raises NotGiven."""
    reason = " ".join(request.form.get("reason", "").split())[:LONGEST_REASON]
    percent, amount = _number("percent"), _number("amount")
    if percent > 100:
        raise NotGiven("percent", _("A discount is between 0 % and 100 %."))
    if amount != to_money(amount, digits_of(here.book.shop.currency)):
        raise NotGiven("amount", _("This currency has no coins that small."))
    if not percent and not amount:
        raise NotGiven("percent", _("Write a share or an amount."))
    if not reason:
        raise NotGiven("reason", _("A discount has a reason; the quote prints it."))
    return Discount(reason, percent / 100, amount)


def _number(field: str) -> Decimal:
    """What is typed there, with a point or a comma; nothing is 0. Raises NotGiven."""
    text = request.form.get(field, "").strip().removesuffix("%").strip().replace(",", ".") or "0"
    if not NUMBER.fullmatch(text):
        raise NotGiven(field, _("Write a number, as 10 or 12.50."))
    return Decimal(text)


def _allowed(here: Desk, db: Database, ticket: str, wanted: Discount) -> None:
    """Staff give up to the shop's `discount_most`, the owner anything. Raises NotGiven."""
    sheet, most = Sheet.of(here, db, ticket), limit_of(_role(), here.book.shop)
    sheet.discount = None
    total = sheet.summary.usual.total if sheet.summary else Decimal(0)
    if share_given(wanted, total) > most:
        raise NotGiven("amount" if wanted.amount else "percent", limit_sentence(most))


def _role() -> str:
    person = visitor().person
    return person.role if person else ""


def _as_typed(given: Given) -> dict[str, str]:
    percent = (Decimal(given.rate) * 100).normalize()
    return {
        "percent": f"{percent:f}" if percent else "",
        "amount": given.amount if Decimal(given.amount) else "",
        "reason": given.reason,
    }


def _page(
    here: Desk,
    db: Database,
    ticket: str,
    typed: object,
    given: Given | None = None,
    problems: dict[str, str] | None = None,
    status: int = 200,
) -> Response:
    page = render_template(
        "counter/discount.html",
        ticket=tickets.find(db, ticket) or abort(404),
        currency=here.book.shop.currency,
        typed=typed,
        given=given,
        problems=problems or {},
    )
    return make_response(page, status)


def _back(ticket: str) -> Response:
    return make_response(redirect(url_for("counter.quote_step", ticket=ticket), 303))
