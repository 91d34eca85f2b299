"""The owner's browser, forms filled in as a browser does, and a book to look at afterwards."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from lxml import html
from werkzeug.datastructures import MultiDict
from werkzeug.test import TestResponse

from intake.config import Settings, demo_book
from intake.screens.book_editor import preview
from intake.services.context import Context
from intake.store import revisions


@dataclass
class Owner:
    """The owner at work."""

    client: FlaskClient
    ctx: Context

    def page(self, address: str) -> Any:
        answer = self.client.get(address)
        assert answer.status_code == 200, answer.text
        return html.fromstring(answer.text)

    def form(self, address: str) -> MultiDict[str, str]:
        """The page's main form as it stands."""
        return fields(self.page(address))

    def change(self, address: str, **typed: str | list[str] | None) -> TestResponse:
        """Open the page, type over these fields (None leaves one out), and send the form."""
        form = self.form(address)
        for name, value in typed.items():
            key = name.replace("__", "-")
            form.poplist(key)
            if value is not None:
                form.setlist(key, [value] if isinstance(value, str) else value)
        return self.client.post(address, data=form)

    def save(self) -> TestResponse:
        """Press Save on the page of the effect."""
        page = self.page("/book/effect")
        (form,) = [form for form in page.forms if form.get("id") == "save"]
        return self.client.post("/book/save", data=dict(form.form_values()))

    def file(self, name: str) -> str:
        """A file of the book in force."""
        held = revisions.in_force(self.ctx.store.db)
        assert held
        return revisions.files_of(self.ctx.store.db, held.number)[name].decode()

    @property
    def numbers(self) -> list[int]:
        return [one.number for one in revisions.latest(self.ctx.store.db, 50)]

    @property
    def drafted(self) -> bool:
        return revisions.draft(self.ctx.store.db) is not None


def fields(page: Any) -> MultiDict[str, str]:
    (form,) = [form for form in page.forms if form.get("id") == "form"]
    return MultiDict([(name, value) for name, value in form.form_values() if name != "rows"])


@pytest.fixture
def owner(app: Flask, ctx: Context, badge: Any, monkeypatch: pytest.MonkeyPatch) -> Owner:
    """A few quotes are enough to weigh a change."""
    monkeypatch.setattr(preview, "LAST", 3)
    return Owner(app.test_client(badge=badge(ctx, "owner")), ctx)


def beside(answer: TestResponse, name: str) -> str:
    """The sentence beside the field of that name; the field is marked, and points to it."""
    page = html.fromstring(answer.text)
    field = page.xpath(f"//*[@name='{name}']")[0]
    described = (field.get("aria-describedby") or "").split()
    said = [page.get_element_by_id(id).text_content() for id in described if id.endswith("-problem")]
    assert not said or field.get("aria-invalid") == "true"
    return " ".join(said)


@pytest.fixture(name="beside")
def beside_fixture() -> Callable[[TestResponse, str], str]:
    return beside


@pytest.fixture(scope="module")
def standing(open_app: Any, badge: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Owner]:
    """The owner of a shop in which nothing ever changes, for what is refused."""
    app = open_app(Settings(tmp_path_factory.mktemp("data"), demo_book()))
    ctx = app.extensions["context"]
    yield Owner(app.test_client(badge=badge(ctx, "owner")), ctx)
    ctx.store.close()


@pytest.fixture
def refused(standing: Owner) -> Callable[..., None]:
    """A change is refused beside the field; nothing is kept, and what was typed stands in the form."""

    def check(address: str, field: str, says: str, /, **typed: Any) -> None:
        answer = standing.change(address, **typed)
        assert answer.status_code == 422, answer.text
        assert says in beside(answer, field), answer.text
        shown = fields(html.fromstring(answer.text))
        for name, value in typed.items():
            key = name.replace("__", "-")
            assert shown.getlist(key) == ([value] if isinstance(value, str) else value or [])
        assert not standing.drafted and standing.numbers == [1]

    return check
