"""One gettext catalogue a language: `locale/<language>/LC_MESSAGES/messages.po`, compiled in memory by Babel.

English is the source and has none. A message's fields are named: `{number}`.
"""

from __future__ import annotations

import gettext
import io
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from babel import Locale, UnknownLocaleError
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

LOCALE = Path(__file__).resolve().parent / "locale"
SOURCE = "en"


@dataclass(frozen=True)
class Translations:
    """The messages of one language, their fields filled in where any are given."""

    catalogue: gettext.NullTranslations

    def gettext(self, message: str, /, **fields: object) -> str:
        return _filled(self.catalogue.gettext(message), fields) if message else ""

    def pgettext(self, context: str, message: str, /, **fields: object) -> str:
        """A message that means something else in another context."""
        return _filled(self.catalogue.pgettext(context, message), fields)

    def ngettext(self, one: str, many: str, number: int, /, **fields: object) -> str:
        """The form for that number, which is its field `num`."""
        return _filled(self.catalogue.ngettext(one, many, number), {"num": number, **fields})


@lru_cache
def languages() -> tuple[str, ...]:
    """English, then every language with a catalogue."""
    found = sorted(path.parent.parent.name for path in LOCALE.glob("*/LC_MESSAGES/messages.po"))
    return SOURCE, *found


@lru_cache
def translations(language: str) -> Translations:
    """The catalogue of a language, or of `fr` for `fr-CA`; English without one."""
    known = _known(language) or SOURCE
    if known == SOURCE:
        return Translations(gettext.NullTranslations())
    compiled = io.BytesIO()
    with (LOCALE / known / "LC_MESSAGES" / "messages.po").open("rb") as file:
        write_mo(compiled, read_po(file, locale=known))
    compiled.seek(0)
    return Translations(gettext.GNUTranslations(compiled))


def has_catalogue(language: str) -> bool:
    """Whether our own sentences exist in that language."""
    return _known(language) is not None


def _known(language: str) -> str | None:
    """The language, or `fr` for `fr-CA`, if it has a catalogue."""
    name = language.replace("-", "_")
    return next((each for each in (name, name.split("_")[0]) if each in languages()), None)


def native_name(language: str) -> str:
    """What a language calls itself: English, Français; its code if nobody knows."""
    try:
        name = Locale.parse(language.replace("-", "_")).get_display_name()
    except (UnknownLocaleError, ValueError):
        name = None
    return name[:1].upper() + name[1:] if name else language


def _filled(text: str, fields: dict[str, object]) -> str:
    return text.format(**fields) if fields else text
