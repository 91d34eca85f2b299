"""A shop without mail: told in words, with the other ways to hand a quote over."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from intake.app import create_app
from intake.book.answers import to_fields
from intake.config import Settings, demo_book


@pytest.fixture
def quoted(phone: Any, ticket: str, ctx: Any, client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setattr("intake.services.documents.render_quote_pdf", lambda *_, **__: b"%PDF-1.7 quote")
    (path,) = (demo_book() / "walkins").glob("151-healthy*.toml")
    pairs = to_fields(ctx.book, tomllib.loads(path.read_text("utf-8"))["answers"])
    phone.take_in(ticket, pairs)
    return str(client.post(f"/tickets/{ticket}/quotes").headers["Location"])


def test_the_page_names_the_other_ways(client: FlaskClient, quoted: str) -> None:
    page = client.get(f"{quoted}/send").text
    assert "No mail is set up here" in page and "Make a link" in page and "Take the answer" in page
    assert client.post(f"{quoted}/mail", data={"to": "rose@home.example"}).status_code == 409


def test_a_link_comes_with_a_mail_to_write(client: FlaskClient, quoted: str) -> None:
    page = client.post(f"{quoted}/link").text
    assert 'href="mailto:' in page and "works only inside the shop" in page


def test_settings_that_do_not_serve_stop_no_shop(tmp_path: Path) -> None:
    (tmp_path / "mail.toml").write_text('host = "a.example"\n')
    app = create_app(Settings(data=tmp_path, book=demo_book()))
    assert "sender" in app.extensions["post"].trouble
    app.extensions["context"].store.close()
