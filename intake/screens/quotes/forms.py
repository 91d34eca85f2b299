"""The forms of a quote's own pages: a mail, a link, a discount, the customer's data and language."""

from __future__ import annotations

import re
from decimal import Decimal

from wtforms import (
    Field,
    HiddenField,
    SelectMultipleField,
    StringField,
    SubmitField,
    TextAreaField,
)
from wtforms.fields import EmailField
from wtforms.validators import StopValidation, ValidationError

from intake.i18n import N_, _
from intake.mail.letter import AddressError, checked
from intake.quoting.model import Discount
from intake.quoting.money import digits_of, to_money
from intake.web.context import current_context
from intake.web.forms import PageForm, lines, one_line, stripped
from intake.web.numbers import whole_number

LONGEST_NOTE = 2000
LONGEST_REASON = 120
NUMBER = re.compile(r"[0-9]{1,9}(\.[0-9]{0,20})?|\.[0-9]{1,20}")
"""Decimal itself also takes `1_5`, `1e3`, `NaN` and the digits of other scripts."""


class LanguageForm(PageForm):
    """What the customer reads, and the quote on whose page it was chosen."""

    language = HiddenField()
    revision = HiddenField()


class LinkForm(PageForm):
    """The link that is taken back; none for all of the ticket."""

    link = HiddenField(filters=[stripped])

    def validate_link(self, field: Field) -> None:
        """A number, if one is given."""
        if field.data and whole_number(field.data) is None:
            raise ValidationError


class MailForm(LanguageForm):
    """The letter that takes a quote to the customer."""

    to = EmailField(N_("To"), filters=[stripped], render_kw={"required": True, "maxlength": "254"})
    note = TextAreaField(
        N_("A word of yours, if you like"),
        filters=[lambda text: lines(text)[:LONGEST_NOTE]],
        render_kw={"rows": "3", "maxlength": str(LONGEST_NOTE)},
    )

    def validate_to(self, field: Field) -> None:
        """An address that mail can go to."""
        try:
            checked(field.data)
        except AddressError:
            words = _("This is not an address that mail can go to. Look for a slip of the keyboard.")
            raise ValidationError(words) from None


class EraseForm(PageForm):
    """The tickets of a customer that are meant; the number, typed, says "I mean it"."""

    tickets = SelectMultipleField(choices=[], validate_choice=False)
    number = StringField(
        filters=[stripped], render_kw={"inputmode": "numeric", "autocomplete": "off", "maxlength": "12"}
    )


def _number(text: str | None) -> str:
    """With a point, without a percent sign; nothing is 0."""
    return stripped(text).removesuffix("%").strip().replace(",", ".") or "0"


def is_number(_form: PageForm, field: Field) -> None:
    """Digits, and a point or comma among them."""
    if not NUMBER.fullmatch(_number(field.data)):
        raise StopValidation(_("Write a number, as 10 or 12.50."))


def _field(label: str, mode: str, *validators: object) -> StringField:
    attributes = {"inputmode": mode, "autocomplete": "off", "maxlength": "120"}
    return StringField(label, list(validators), render_kw=attributes)


class DiscountForm(PageForm):
    """A discount as typed: a share or an amount, and why."""

    percent = _field(N_("Share of the sum, in %"), "decimal", is_number)
    amount = _field(N_("Or an amount, in {currency}"), "decimal", is_number)
    reason = _field(N_("Reason"), "text")
    withdraw = SubmitField()

    def validate_percent(self, field: Field) -> None:
        """No more than the whole."""
        if Decimal(_number(field.data)) > 100:
            raise ValidationError(_("A discount is between 0 % and 100 %."))

    def validate_amount(self, field: Field) -> None:
        """In coins that there are."""
        amount = Decimal(_number(field.data))
        if amount != to_money(amount, digits_of(current_context().book.shop.currency)):
            raise ValidationError(_("This currency has no coins that small."))

    def discount(self) -> Discount | None:
        """What was typed; None with a sentence beside what is missing or wrong."""
        if not self.validate():
            return None
        percent, amount = (Decimal(_number(field.data)) for field in (self.percent, self.amount))
        reason = one_line(self.reason.data)[:LONGEST_REASON]
        if not percent and not amount:
            self.refuse("percent", _("Write a share or an amount."))
        elif not reason:
            self.refuse("reason", _("A discount has a reason; the quote prints it."))
        return None if self.errors else Discount(reason, percent / 100, amount)
