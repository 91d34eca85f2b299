"""The customer's texts of the paper: gettext catalogues read from `.po` files, English without one."""

from __future__ import annotations

import gettext
import io
from functools import lru_cache

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from intake.config import PACKAGE

CATALOGUES = PACKAGE / "i18n" / "locale" / "paper"


@lru_cache
def catalogue(language: str) -> gettext.NullTranslations:
    """Translations of `locale/<language>.po`; those of English (the texts themselves) if there is none."""
    path = CATALOGUES / f"{language}.po"
    if not language.isalpha() or not path.is_file():
        return gettext.NullTranslations()
    compiled = io.BytesIO()
    with path.open("rb") as file:
        write_mo(compiled, read_po(file, locale=language))
    compiled.seek(0)
    return gettext.GNUTranslations(compiled)
