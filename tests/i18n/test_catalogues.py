"""Each catalogue that is shipped says everything that a customer reads, with the same fields."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest
from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_file
from babel.messages.pofile import read_po

from intake.i18n import languages, native_name, translations
from intake.i18n.catalogues import LOCALE

ROOT = Path(__file__).resolve().parents[2]
SHIPPED = languages()[1:]
KEYWORDS = {"_": None, "N_": None, "gettext": None, "ngettext": (1, 2), "pgettext": ((1, "c"), 2)}
PAPER = ("intake/paper/**/*.py", "templates/paper/*", "intake/quoting/phrases.py", "intake/book/wording.py")
MAIL = ("templates/mail/*", "intake/services/quote_letter.py")
PORTAL = (
    "templates/portal/*", "templates/shared/_choice.html", "templates/shared/_agreed.html",
    "templates/shared/_no.html", "templates/quotes/goahead.html", "intake/screens/portal/*.py",
    "intake/services/decisions.py", "intake/services/quote_p*.py", "intake/services/quote_view.py",
    "intake/services/signature.py", "intake/web/answer_forms.py",
)  # fmt: skip
"""What speaks to customers; the rest of `services` speaks to staff."""
EVERYTHING = ("intake/**/*.py", "templates/**/*.html", "templates/**/*.txt")


class Message(NamedTuple):
    context: str | None
    text: str


def extracted(*patterns: str) -> set[Message]:
    """The messages of those files."""
    files = {path for pattern in patterns for path in ROOT.glob(pattern) if path.is_file()}
    return {message for path in files for message in _in_file(path)}


def _in_file(path: Path) -> Iterator[Message]:
    method = "python" if path.suffix == ".py" else "jinja2"
    for _line, found, _comments, context in extract_from_file(method, path, keywords=KEYWORDS):
        yield Message(context, found[0] if isinstance(found, tuple) else found)


def catalogue(language: str) -> Catalog:
    with (LOCALE / language / "LC_MESSAGES" / "messages.po").open("rb") as file:
        return read_po(file, locale=language)


def fields(text: str) -> set[str]:
    return set(re.findall(r"{\w+}", text))


@pytest.mark.parametrize("language", SHIPPED)
@pytest.mark.parametrize(("patterns", "least"), [(PAPER, 200), (MAIL, 10), (PORTAL, 60)])
def test_all_that_a_customer_reads_is_translated(
    language: str, patterns: tuple[str, ...], least: int
) -> None:
    wanted = extracted(*patterns)

    known = catalogue(language)
    missing = sorted(text for context, text in wanted if not (m := known.get(text, context)) or not m.string)

    assert len(wanted) > least
    assert not missing


@pytest.mark.parametrize("language", SHIPPED)
def test_a_translation_has_the_fields_of_its_message(language: str) -> None:
    for message in catalogue(language):
        originals = [message.id] if isinstance(message.id, str) else list(message.id)
        said = [message.string] if isinstance(message.string, str) else list(message.string)
        for words in filter(None, said if message.id else ()):
            assert fields(words) in [fields(original) for original in originals], words


@pytest.mark.parametrize("language", SHIPPED)
def test_a_catalogue_has_no_message_that_nobody_says(language: str) -> None:
    said = extracted(*EVERYTHING)

    known = {
        Message(m.context, m.id if isinstance(m.id, str) else m.id[0]) for m in catalogue(language) if m.id
    }

    assert known - said == set()


def test_fields_are_named_in_braces_everywhere() -> None:
    assert [text for _, text in extracted(*EVERYTHING) if re.search(r"%\(\w+\)|%s|%d|%%|{\d*}", text)] == []


def test_a_missing_message_is_noticed(tmp_path: Path) -> None:
    (tmp_path / "page.html").write_text('{{ _("Never said before") }}{{ pgettext("seldom", "Total") }}')

    found = set(_in_file(tmp_path / "page.html"))

    assert found == {Message(None, "Never said before"), Message("seldom", "Total")}
    assert not any(catalogue("fr").get(text, context) for context, text in found)


def test_an_unknown_language_is_english() -> None:
    assert translations("xx").gettext("Total") == "Total"
    assert translations("../fr").gettext("Price") == "Price"


def test_a_language_of_a_country_takes_the_catalogue_of_the_language() -> None:
    assert translations("fr-CA").gettext("Price") == translations("fr").gettext("Price") != "Price"


def test_a_number_chooses_its_form() -> None:
    said = translations("en").ngettext("{num} job of {who}", "{num} jobs of {who}", 2, who="Ada")

    assert said == "2 jobs of Ada"


@pytest.mark.parametrize(
    ("language", "name"), [("en", "English"), ("fr", "Français"), ("de", "Deutsch"), ("xx", "xx")]
)
def test_a_language_says_its_own_name(language: str, name: str) -> None:
    assert native_name(language) == name
