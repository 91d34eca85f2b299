"""Staff's screens speak `staff_language` of shop.toml."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from flask import Flask

from intake.config import Settings, demo_book
from intake.i18n import _, current_language, translations


@pytest.fixture
def french_staff(tmp_path: Path, open_app: Callable[[Settings], Flask]) -> Flask:
    """The demo's shop, whose staff speaks French."""
    book = tmp_path / "book"
    shutil.copytree(demo_book(), book)
    shop = book / "shop.toml"
    shop.write_text('staff_language = "fr"\n' + shop.read_text("utf-8"), "utf-8")
    return open_app(Settings(data=tmp_path / "data", book=book))


def test_pages_say_their_language_and_the_book_s_texts_in_it(french_staff: Flask) -> None:
    answer = french_staff.test_client().get("/walkin")

    assert '<html lang="fr"' in answer.text
    assert "Qui demande ?" in answer.text and "Who is asking?" not in answer.text


def test_days_are_written_in_it_and_money_as_the_shop_does(french_staff: Flask) -> None:
    with french_staff.test_request_context():
        french_staff.preprocess_request()
        shown = french_staff.jinja_env.from_string("{{ '2026-12-04'|day }} {{ 12|money('USD') }}").render()

    assert shown == "4 décembre 2026 $12.00"


def test_messages_come_from_the_catalogue(french_staff: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    french = translations("fr").catalogue
    monkeypatch.setitem(french._catalog, "New walk-in", "Nouvelle entrée")  # type: ignore[attr-defined]

    answer = french_staff.test_client().get("/walkin")

    assert "<title>Nouvelle entrée" in answer.text


def test_outside_of_a_request_it_is_english(french_staff: Flask) -> None:
    french_staff.test_client().get("/walkin")

    assert current_language() == "en" and _("yes") == "yes"


def test_without_the_setting_it_is_english(open_app: Callable[[Settings], Flask], tmp_path: Path) -> None:
    app = open_app(Settings(data=tmp_path / "data", book=demo_book()))

    answer = app.test_client().get("/walkin")

    assert '<html lang="en"' in answer.text and "Who is asking?" in answer.text
