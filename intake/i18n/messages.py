"""`_` marks a sentence and says it in the language of whoever is served now; English is the source."""

from __future__ import annotations

from collections.abc import Callable
from contextvars import ContextVar

from intake.i18n.catalogues import SOURCE, translations

_language: ContextVar[Callable[[], str]] = ContextVar("language")


def use(language: Callable[[], str]) -> None:
    """From now on, in this thread or task, `_` speaks what `language` gives when it is asked."""
    _language.set(language)


def current_language() -> str:
    """The language in use; English where none was chosen."""
    return _language.get(lambda: SOURCE)()


def _(message: str, /, **fields: object) -> str:
    """The message in the reader's language, its fields such as `{name}` filled in."""
    return translations(current_language()).gettext(message, **fields)


def N_(message: str) -> str:
    """Mark a sentence that is translated later, where it is shown."""
    return message
