"""The texts of the customer's pages and letters: our own catalogue, and the paper's for what both say."""

from __future__ import annotations

import gettext
import io
from functools import lru_cache
from pathlib import Path

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from intake.config import data_root
from intake.i18n import paper_texts as paper

CATALOGUES = Path(__file__).resolve().parent / "locale" / "customer"


@lru_cache
def catalogue(language: str) -> gettext.NullTranslations:
    """Translations of `locale/<language>.po`, then those of the paper; English without any."""
    path = CATALOGUES / f"{language}.po"
    if not language.isalpha() or not path.is_file():
        return paper.catalogue(language)
    compiled = io.BytesIO()
    with path.open("rb") as file:
        write_mo(compiled, read_po(file, locale=language))
    compiled.seek(0)
    ours = gettext.GNUTranslations(compiled)
    ours.add_fallback(paper.catalogue(language))
    return ours


@lru_cache
def environment(language: str) -> Environment:
    """Templates with autoescape (letters in plain text aside) and the texts of that language."""
    env = Environment(
        loader=FileSystemLoader(data_root() / "templates"),
        autoescape=lambda name: name is None or not name.endswith(".txt"),
        undefined=StrictUndefined,
        extensions=["jinja2.ext.i18n"],
        trim_blocks=True,
        lstrip_blocks=True,
    )
    # Added by the extension, so unknown to the type of Environment.
    env.install_gettext_translations(catalogue(language), newstyle=False)  # type: ignore[attr-defined]
    return env
