"""Every text of the paper has its translation, with the same placeholders."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from babel.messages.extract import extract_from_file

from intake.i18n.paper_texts import CATALOGUES, catalogue

ROOT = Path(__file__).resolve().parents[2]
LANGUAGES = sorted(path.stem for path in CATALOGUES.glob("*.po"))


def our_texts() -> set[str]:
    sources = [(path, "python") for path in (ROOT / "intake/paper").rglob("*.py")]
    sources += [(path, "jinja2") for path in (ROOT / "templates/paper").glob("*.html")]
    return {str(found[1]) for path, method in sources for found in extract_from_file(method, path)}


def test_there_are_texts_and_languages() -> None:
    assert len(our_texts()) > 50 and LANGUAGES == ["fr"]


@pytest.mark.parametrize("language", LANGUAGES)
def test_all_are_translated(language: str) -> None:
    known = catalogue(language)._catalog  # type: ignore[attr-defined]
    missing = sorted(our_texts() - {key for key in known if isinstance(key, str)})
    assert not missing
    for text in our_texts():
        assert set(re.findall(r"{\w+}", text)) == set(re.findall(r"{\w+}", known[text])), text


def test_an_unknown_language_is_english() -> None:
    assert catalogue("de").gettext("Total") == "Total"
    assert catalogue("../fr").gettext("Price") == "Price"
