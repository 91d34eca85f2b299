"""Every text that a customer reads has its translation, with the same placeholders."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from babel.messages.extract import extract_from_file

from intake.i18n.customer_texts import CATALOGUES, catalogue

ROOT = Path(__file__).resolve().parents[2]
LANGUAGES = sorted(path.stem for path in CATALOGUES.glob("*.po"))
KEYWORDS = {"_": None, "say": None}
MODULES = (
    "services/decisions", "services/quote_letter", "services/quote_page", "services/quote_pdf",
    "services/quote_view", "services/signature", "screens/portal/page",
)  # fmt: skip
"""What speaks to a customer in their language; the rest of `services` speaks to staff."""
PAGES = (
    "portal/*",
    "mail/*",
    "shared/_choice.html",
    "shared/_agreed.html",
    "shared/_no.html",
    "quotes/goahead.html",
)


def our_texts() -> set[str]:
    sources = [(ROOT / "intake" / f"{module}.py", "python") for module in MODULES]
    sources += [(path, "jinja2") for page in PAGES for path in sorted((ROOT / "templates").glob(page))]
    return {
        str(found[1])
        for path, method in sources
        for found in extract_from_file(method, path, keywords=KEYWORDS)
    }


@pytest.mark.parametrize("language", LANGUAGES)
def test_all_are_translated(language: str) -> None:
    words = catalogue(language)
    texts = our_texts()
    assert len(texts) > 70 and LANGUAGES == ["fr"]
    same = {"Photo {number}", "Photos", "Signature"}
    missing = sorted(text for text in texts - same if words.gettext(text) == text)
    assert not missing
    for text in texts:
        assert set(re.findall(r"{\w+}", text)) == set(re.findall(r"{\w+}", words.gettext(text))), text


def test_what_the_paper_says_is_known_too() -> None:
    assert catalogue("fr").gettext("Terms") != "Terms"
    assert catalogue("xx").gettext("Terms") == "Terms"
