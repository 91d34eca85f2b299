"""The forms of who may come in: names, PINs, passwords, codes."""

from __future__ import annotations

import re
from typing import Any

from wtforms import Field, HiddenField, RadioField, StringField
from wtforms.fields.choices import SelectChoice
from wtforms.validators import ValidationError

from intake.i18n import N_, _
from intake.store import passwords, people
from intake.store.weak_passwords import is_weak
from intake.web.context import current_context
from intake.web.forms import PageForm, SecretField, one_line, stripped

LONGEST_SECRET = 1000
NOT_CODE = re.compile(r"[^a-z2-7]")
PIN = {"inputmode": "numeric", "pattern": "[0-9]{4,6}", "minlength": "4", "maxlength": "6", "required": True}


def person_name(_form: PageForm, field: Field) -> None:
    """A name that people or phones may have."""
    try:
        people.clean_name(field.data)
    except ValueError:
        raise ValidationError(_("Write a name of up to 60 letters.")) from None


def a_pin(_form: PageForm, field: Field) -> None:
    """Four to six digits."""
    if not passwords.is_pin(field.data):
        raise ValidationError(_("A PIN has four to six digits."))


def code(typed: str | None) -> str:
    """The code of an address that was pasted, or of one that was typed with gaps."""
    return NOT_CODE.sub("", (typed or "")[:LONGEST_SECRET].rpartition("code=")[2].lower())


def _name(label: str, **attributes: Any) -> StringField:
    kept = {"required": True, "maxlength": "60", **attributes}
    return StringField(label, [person_name], filters=[one_line], render_kw=kept)


def _secret(label: str, **attributes: Any) -> SecretField:
    return SecretField(label, render_kw={"required": True, "maxlength": str(LONGEST_SECRET), **attributes})


class NextForm(PageForm):
    """Where to go on to after signing in."""

    next = HiddenField()


class NewPassword(PageForm):
    """A new password, typed or pasted twice."""

    password = _secret(N_("Password"), autocomplete="new-password", minlength="8")
    again = _secret(N_("Once more"), autocomplete="new-password")

    def owner_name(self) -> str:
        """Whose password it is to be: the name may not be in it."""
        raise NotImplementedError

    def validate_password(self, field: Field) -> None:
        """Long enough, and none of those that are guessed first."""
        password = field.data or ""
        if len(password) < passwords.LEAST:
            raise ValidationError(
                _("The password needs at least {number} characters.", number=passwords.LEAST)
            )
        if len(password) > passwords.LONGEST:
            raise ValidationError(_("The password is longer than can be kept."))
        if is_weak(password, (self.owner_name(), current_context().book.shop.name)):
            raise ValidationError(
                _("This password is among those that are guessed first. Three words of your own are better.")
            )

    def validate_again(self, field: Field) -> None:
        """Twice the same."""
        if (field.data or "") != (self.password.data or ""):
            raise ValidationError(_("The two passwords are not the same."))


class SetUpForm(NewPassword):
    """The owner's name and password, on the first start."""

    name = _name(N_("Your name"), autocomplete="username")

    def owner_name(self) -> str:
        """As typed above it."""
        return self.name.data or ""


class ChangePasswordForm(NewPassword):
    """The owner's new password, and the one that it takes the place of."""

    old = _secret(N_("Present password"), autocomplete="current-password")
    owner = ""

    def owner_name(self) -> str:
        """Of whoever is signed in."""
        return self.owner


class PasswordForm(PageForm):
    """The owner signs in."""

    name = StringField(
        N_("Name"), render_kw={"autocomplete": "username", "required": True, "maxlength": "60"}
    )
    password = _secret(N_("Password"), autocomplete="current-password")


class PinForm(PageForm):
    """Somebody signs in on an enrolled phone."""

    pin = SecretField(
        N_("PIN"), filters=[stripped], render_kw={**PIN, "autocomplete": "off", "autofocus": True}
    )


class NewPinForm(PageForm):
    """A PIN in place of the old one."""

    pin = StringField(
        N_("New PIN"), [a_pin], filters=[stripped], render_kw={**PIN, "autocomplete": "off", "value": ""}
    )


class StaffForm(PageForm):
    """A new member of staff."""

    name = _name(N_("Name"), autocomplete="off")
    role = RadioField(
        N_("Works at"),
        choices=[SelectChoice("counter", N_("the counter")), SelectChoice("bench", N_("the bench"))],
    )
    pin = StringField(
        N_("PIN, four to six digits"), [a_pin], filters=[stripped], render_kw={**PIN, "autocomplete": "off"}
    )


class EnrolForm(PageForm):
    """What a phone is called, and the code that the owner showed."""

    code = HiddenField(filters=[code])
    name = _name(N_("What is this phone called?"), autocomplete="off")


class CodeForm(PageForm):
    """A code by hand: scanned, pasted as an address, or typed with gaps."""

    code = StringField(
        N_("The code, or the address below it"),
        filters=[code],
        render_kw={
            "required": True,
            "maxlength": str(LONGEST_SECRET),
            "autocomplete": "off",
            "autocapitalize": "none",
            "spellcheck": "false",
        },
    )
