"""HTML forms as WTForms forms: what was posted is read here and nowhere else, and checked before it is used.

A sentence about a value stands beside its field (`shared/_form.html`), and what was typed stays in it.
"""

from __future__ import annotations

from typing import Self

from flask import request
from wtforms import Form, HiddenField, PasswordField
from wtforms.widgets import PasswordInput


class PageForm(Form):
    """A form of a page."""

    @classmethod
    def posted(cls) -> Self:
        """The form as it was sent with this request."""
        return cls(request.form)

    @classmethod
    def asked(cls) -> Self:
        """The form as it stands in the address of this request."""
        return cls(request.args)

    def refuse(self, name: str, sentence: str) -> Self:
        """The same form with a sentence beside the field of that name."""
        field = self[name]
        field.errors = [*field.errors, sentence]
        return self


def posted_pairs() -> list[tuple[str, str]]:
    """Every field of the body as it was sent, in order, for forms whose fields the book names."""
    return list(request.form.items(multi=True))


class ReaderForm(PageForm):
    """The language that a page or form is read in; the address of a page has it too."""

    lang = HiddenField()

    @classmethod
    def wanted(cls) -> str:
        """As posted, else as asked for in the address."""
        return cls.posted().lang.data or cls.asked().lang.data or ""


class SecretField(PasswordField):
    """A PIN or password: never shown again, and kept as it was typed."""

    widget = PasswordInput(hide_value=True)


def one_line(text: str | None) -> str:
    """The words with single blanks between them."""
    return " ".join((text or "").split())


def stripped(text: str | None) -> str:
    """Without blanks at either end."""
    return (text or "").strip()


def lines(text: str | None) -> str:
    """Several lines, which end alike whoever typed them."""
    return (text or "").replace("\r\n", "\n").strip()
