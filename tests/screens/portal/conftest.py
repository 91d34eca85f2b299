"""A frozen quote of the old flat top, its link, and what the customer's page shows."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from intake.book.answers import to_fields
from intake.config import demo_book
from intake.services.context import Context


@dataclass
class Customer:
    """Somebody with a link. `page` is the address, `form` what the page's yes would send."""

    client: FlaskClient
    page: str

    def get(self, more: str = "", **given: Any) -> TestResponse:
        return self.client.get(self.page + more, **given)

    def post(self, what: str, **fields: Any) -> TestResponse:
        return self.client.post(f"{self.page}/{what}", data=fields)

    def form(self) -> dict[str, Any]:
        """The hidden fields of the yes, as the page has them."""
        text = self.get().text
        yes = text[text.index('id="yes"') :]
        yes = yes[: yes.index("</form>")]
        pairs = re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', yes)
        fields: dict[str, Any] = {name: value for name, value in pairs if name != "jobs"}
        return {**fields, "jobs": [value for name, value in pairs if name == "jobs"]}

    def say_yes(self, **more: Any) -> TestResponse:
        return self.post("yes", **{**self.form(), "name": "R. Okafor", "agreed": "yes", **more})


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """No WeasyPrint."""
    monkeypatch.setattr("intake.services.documents.render_quote_pdf", lambda *_, **__: b"%PDF-1.7 quote")


@pytest.fixture
def brought() -> str:
    """The sample walk-in that is quoted: one with many jobs."""
    return "03-old-flat-top-neck-reset"


@pytest.fixture
def quoted(phone: Any, ticket: str, ctx: Context, quick: None, client: FlaskClient, brought: str) -> str:
    """The address of a frozen quote."""
    path = demo_book() / "walkins" / f"{brought}.toml"
    pairs = to_fields(ctx.book, tomllib.loads(path.read_text("utf-8"))["answers"])
    phone.take_in(ticket, pairs)
    answer = client.post(f"/tickets/{ticket}/quotes")
    return str(answer.headers["Location"])


def make_link(client: FlaskClient, quoted: str, **fields: str) -> str:
    """A new link's path."""
    answer = client.post(f"{quoted}/link", data=fields)
    assert answer.status_code == 200, answer.text
    found = re.search(r'value="http://[^/"]+(/q/[^"]+)"', answer.text)
    assert found
    return found[1]


@pytest.fixture
def customer(client: FlaskClient, quoted: str) -> Customer:
    return Customer(client, make_link(client, quoted))


@pytest.fixture
def linked(client: FlaskClient, quoted: str) -> Any:
    """Makes another customer with a link of their own."""
    return lambda **fields: Customer(client, make_link(client, quoted, **fields))
