"""`tallyfret book load` and `export` beside a shop that is open."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from intake.cli.book import in_force_told
from intake.cli.main import main
from intake.config import demo_book
from intake.store.books import read_folder


@pytest.fixture
def run(data: Path) -> Any:
    def run(*words: str) -> Result:
        return CliRunner().invoke(main, ["--data", str(data), "book", *words], catch_exceptions=False)

    return run


def test_out_changed_and_in_again_while_the_shop_is_open(owner: Any, run: Any, tmp_path: Path) -> None:
    folder = tmp_path / "ours"
    assert "demo shop's name" in in_force_told(owner.ctx.store.folder)
    assert run("export", str(folder)).exit_code == 0
    assert read_folder(folder) == read_folder(demo_book())
    assert "in force already" in run("load", str(folder)).output and owner.numbers == [1]
    shop = folder / "shop.toml"
    shop.write_text(shop.read_text("utf-8").replace('labour_rate = "72"', 'labour_rate = "88"'), "utf-8")
    owner.change("/book/money", labour_rate="90")
    assert "Book 2 is in force" in run("load", str(folder)).output
    assert owner.ctx.book.shop.labour_rate == 88
    page = owner.client.get("/book/").text
    assert "brought in from the folder “ours”" in page and "command line" in page
    assert "Another book came into force" in owner.client.get("/book/effect").text
    assert "saved by command line" in in_force_told(owner.ctx.store.folder)


def test_a_faulty_folder_changes_nothing(owner: Any, run: Any, tmp_path: Path) -> None:
    folder = tmp_path / "ours"
    run("export", str(folder))
    shop = folder / "shop.toml"
    shop.write_text(shop.read_text("utf-8").replace("valid_days = 30", "valid_days = 900"), "utf-8")
    refused = run("load", str(folder))
    assert (
        refused.exit_code == 2
        and "shop.toml, valid_days: A quote is good for 1 to 366 days." in refused.output
    )
    assert owner.numbers == [1]


def test_nothing_is_written_over(owner: Any, run: Any, tmp_path: Path) -> None:
    (tmp_path / "ours").mkdir()
    (tmp_path / "ours" / "shop.toml").write_text("mine")
    answer = run("export", str(tmp_path / "ours"))
    assert answer.exit_code and "not empty" in answer.output
    assert (tmp_path / "ours" / "shop.toml").read_text() == "mine"


def test_a_shop_that_was_never_open_takes_a_book_and_gives_none(run: Any, tmp_path: Path, data: Path) -> None:
    assert run("export", str(tmp_path / "out")).exit_code
    assert "Book 1 is in force" in run("load", str(demo_book())).output
    assert run("export", str(tmp_path / "out")).exit_code == 0
