"""Sentences marked for translation; English is the source."""

from __future__ import annotations

from gettext import NullTranslations

translations = NullTranslations()


def _(message: str, /, **values: object) -> str:
    """The message in the reader's language, its `%(name)s` filled in."""
    text = translations.gettext(message)
    return text % values if values else text


def N_(message: str) -> str:
    """Mark a sentence that is translated later, where it is shown."""
    return message
