"""A shop with two customers' tickets, each quoted, photographed and linked; and everybody who may ask."""

from __future__ import annotations

import io
import logging
import os
import re
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from flask import Flask
from flask.testing import FlaskClient
from PIL import Image
from werkzeug.datastructures import MultiDict
from werkzeug.routing import Rule

from intake.book.answers import to_fields
from intake.config import Settings, demo_book
from intake.paper import DocumentOptions
from intake.services.context import Context
from intake.store import passwords, people

PASSWORD, PIN = "a long enough password", "482915"
LOOKS_HARDER = int(os.environ.get("FUZZ", "1"))
"""How many times as many examples as usual: FUZZ=50 ./run test --deep tests/security -k fuzz"""


@dataclass
class Case:
    """One customer's ticket: its id, the path of the link's page, and the photo's hash."""

    ticket: str
    page: str
    sha: str

    @property
    def token(self) -> str:
        return self.page.removeprefix("/q/")


@dataclass
class Site:
    """The shop, its two customers, and clients for everybody."""

    app: Flask
    cookies: dict[str, dict[str, str]]
    here: Case
    there: Case
    logged: Log = field(repr=False, kw_only=True)

    @property
    def ctx(self) -> Context:
        found: Context = self.app.extensions["context"]
        return found

    def client(self, who: str = "owner") -> FlaskClient:
        """A new browser with the cookies of "owner", "counter", "bench" or "nobody"."""
        return self.app.test_client(badge=self.cookies.get(who, {}))


class Log(logging.Handler):
    """What was written to the log, whole: words, errors and where they came from."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.setFormatter(logging.Formatter())
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.lines.append(self.format(record))


def picture(colour: int) -> bytes:
    target = io.BytesIO()
    Image.new("RGB", (40, 30), (colour, 120, 40)).save(target, "JPEG")
    return target.getvalue()


def read_walkin(ctx: Context, number: str) -> list[tuple[str, str]]:
    path, *_ = sorted((demo_book() / "walkins").glob(f"{number}-*.toml"))
    return to_fields(ctx.book, tomllib.loads(path.read_text("utf-8"))["answers"])


def take_in(app: Flask, number: str, colour: int, **words: str) -> Case:
    """A walk-in from its first field to a link."""
    client, ticket = app.test_client(), str(uuid4())
    fields = MultiDict([*read_walkin(app.extensions["context"], number), *words.items()])
    assert client.post(f"/tickets/{ticket}", data=fields).status_code == 303
    photo = client.post(
        f"/tickets/{ticket}/photos",
        data={"photo": (io.BytesIO(picture(colour)), "x.jpg")},
        headers={"Idempotency-Key": str(uuid4())},
    )
    frozen = client.post(f"/tickets/{ticket}/quotes")
    assert frozen.status_code == 303, frozen.text
    answer = client.post(f"{frozen.headers['Location']}/link")
    found = re.search(r'value="http://[^/"]+(/q/[^"]+)"', answer.text)
    assert found and photo.json
    return Case(ticket, found[1], photo.json["sha"])


def printed(_quote: object, _book: object, _walkin: object, options: DocumentOptions) -> bytes:
    """A document as far as these tests read it."""
    return b"%PDF-1.7 " + options.number.encode()


@pytest.fixture(scope="module")
def quick() -> Iterator[None]:
    """No WeasyPrint."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("intake.services.documents.render_quote_pdf", printed)
        yield


@pytest.fixture(scope="module")
def site(
    tmp_path_factory: pytest.TempPathFactory, open_app: Callable[[Settings], Flask], badge: Any, quick: None
) -> Iterator[Site]:
    """One shop for all tests of a file: they ask much, and change nothing that the next one minds."""
    data: Path = tmp_path_factory.mktemp("shop") / "data"
    app = open_app(Settings(data=data, book=demo_book()))
    ctx: Context = app.extensions["context"]
    cookies = {role: badge(ctx, role, f"Somebody {role}", role) for role in ("owner", "counter", "bench")}
    with ctx.store.writing() as db:
        owner = people.owner(db)
        assert owner
        people.set_password(db, owner.id, passwords.hashed(PASSWORD), ctx.now())
    cookies["owner"] = badge(ctx, "owner", phone="owner")
    here, there = take_in(app, "03", 200), take_in(app, "01", 90)
    log = Log()
    logging.getLogger().addHandler(log)
    app.logger.addHandler(log)
    yield Site(app, cookies, here, there, logged=log)
    logging.getLogger().removeHandler(log)
    app.logger.removeHandler(log)
    ctx.store.close()


@pytest.fixture
def harder() -> int:
    return LOOKS_HARDER


@pytest.fixture
def walkin_fields() -> Callable[[Context, str], list[tuple[str, str]]]:
    """A sample walk-in as a form's fields, by the number in its file's name."""
    return read_walkin


@pytest.fixture
def example() -> Callable[[Rule, str], object]:
    """A value that fits the variable of an address."""
    known = {"file": "jobs.csv", "row": 1, "size": "4x6", "paper": "a4", "step": "neck"}
    return lambda rule, name: known.get(name, 1 if f"<int:{name}>" in rule.rule else "x")
