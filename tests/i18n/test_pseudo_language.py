"""Staff's pages in a pseudo-language: every message and every text of the book stands in brackets, so that a
word without them is one that no catalogue and no column could translate."""

from __future__ import annotations

import gettext
import re
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from flask.testing import FlaskClient
from werkzeug.datastructures import MultiDict

from intake.book.answers import to_fields
from intake.book.text import Text
from intake.config import Settings, demo_book
from intake.quoting.walkin import load_walkin
from intake.services.context import Context

READ_OUT = {"alt", "aria-label", "placeholder", "title"}
BRACKETS = re.compile("⟦[^⟦⟧]*⟧")
WORD = re.compile(r"[^\W\d_]{3,}")
NO_WORDS = re.compile(
    r"Tallyfret|English|Français|deg|cents"  # a name, languages by their own names, signs of units
    r"|[A-Z][a-z]+ \d{1,2}, \d{4}(, \d{1,2}:\d\d:\d\d.[AP]M)?|Front"  # days, a phone's name
    r"|R\. Okafor|Hard to play up the neck and a rattle on the third string\.|Noor Amari|Mara Lindt"  # typed
)
STAFF = (
    "/", "/walkin", "{ticket}", "{ticket}/summary", "{ticket}/discount", "{ticket}/papers",
    "{ticket}/quotes/1", "{ticket}/quotes/1/send", "{ticket}/quotes/1/goahead", "/bench",
    "/install", "/offline", "/from-phone", "/signin", "/nowhere",
)  # fmt: skip
OWNER = ("/people", "{ticket}/privacy", "/book/money", "/book/hours")


def bracketed(text: str) -> str:
    return f"⟦{text}⟧" if text else ""


class Words(HTMLParser):
    """What a page says, and what it says aloud."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found += [words for name, words in attrs if name in READ_OUT and words]

    def handle_data(self, data: str) -> None:
        self.found.append(data)


def outside_of_brackets(page: str) -> list[str]:
    """Words that no brackets hold. A message may hold another, and a tag may part one."""
    words = Words()
    words.feed(page)
    text = "\n".join(words.found)
    while BRACKETS.search(text):
        text = BRACKETS.sub("", text)
    return [line.strip() for line in NO_WORDS.sub("", text).split("\n") if WORD.search(line)]


@pytest.fixture(scope="module")
def pseudo(tmp_path_factory: pytest.TempPathFactory, open_app: Any) -> Iterator[Any]:
    """The app in the pseudo-language, and the address of a ticket with a quote."""
    said_in = Text.in_
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("intake.services.documents.render_quote_pdf", lambda *_, **__: b"%PDF-1.7 quote")
        patch.setattr(gettext.NullTranslations, "gettext", lambda _, text: bracketed(text))
        patch.setattr(gettext.NullTranslations, "pgettext", lambda _, __, text: bracketed(text))
        patch.setattr(
            gettext.NullTranslations, "ngettext", lambda _, one, many, n: bracketed(one if n == 1 else many)
        )
        patch.setattr(Text, "in_", lambda text, language: bracketed(said_in(text, language)))
        app = open_app(Settings(data=tmp_path_factory.mktemp("pseudo") / "data", book=demo_book()))
        ctx: Context = app.extensions["context"]
        (path,) = Path(demo_book() / "walkins").glob("03-*.toml")
        address = f"/tickets/{uuid4()}"
        client = app.test_client()
        assert (
            client.post(address, data=MultiDict(to_fields(ctx.book, load_walkin(path).answers))).status_code
            == 303
        )
        assert client.post(f"{address}/quotes").status_code == 303
        yield app, address
        ctx.store.close()


@pytest.mark.parametrize("page", STAFF)
def test_a_page_of_the_counter_has_no_word_of_its_own(pseudo: Any, page: str) -> None:
    app, address = pseudo

    answer = app.test_client().get(page.format(ticket=address))

    assert answer.status_code == (404 if page == "/nowhere" else 200)
    assert "⟦" in answer.text
    assert outside_of_brackets(answer.text) == []


@pytest.mark.parametrize("page", OWNER)
def test_a_page_of_the_owner_has_no_word_of_its_own(
    pseudo: Any, page: str, badge: Callable[..., dict[str, str]]
) -> None:
    app, address = pseudo
    client: FlaskClient = app.test_client(badge=badge(app.extensions["context"], "owner"))

    answer = client.get(page.format(ticket=address))

    assert answer.status_code == 200
    assert outside_of_brackets(answer.text) == []


def test_a_word_without_brackets_is_found() -> None:
    page = '<p title="Face">⟦Total⟧ and ⟦{⟦Neck⟧} <b>of</b> it⟧</p>'

    assert outside_of_brackets(page) == ["Face", "and"]
