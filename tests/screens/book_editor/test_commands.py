"""`tallyfret book load` and `export` beside a shop that is open."""

from __future__ import annotations

import shutil
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import pytest
from click import ClickException
from click.testing import CliRunner, Result

from intake.cli.book_revisions import in_force_told, look_over
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


def dear(folder: Path) -> None:
    """A set of strings without its decimal point."""
    parts = folder / "parts.csv"
    parts.write_text(parts.read_text("utf-8").replace(",7.00,13.00,", ",7.00,1300,"), "utf-8")


def test_a_doubtful_price_is_in_force_once_it_is_confirmed(owner: Any, run: Any, tmp_path: Path) -> None:
    folder = tmp_path / "ours"
    run("export", str(folder))
    dear(folder)

    asked = run("load", str(folder))
    confirmed = run("load", str(folder), "--confirm")

    assert (
        asked.exit_code == 1 and "1300 is 186 times its cost" in asked.output and "--confirm" in asked.output
    )
    assert "Book 2 is in force" in confirmed.output and owner.numbers == [2, 1]


def test_serve_says_what_check_says_and_takes_what_is_confirmed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, data = tmp_path / "ours", tmp_path / "data"
    shutil.copytree(demo_book(), folder)
    dear(folder)

    def over(confirm: bool) -> str:
        with pytest.raises(ClickException) if not confirm else nullcontext() as refused:
            look_over(data, folder, confirm)
        return "" if confirm else str(refused.value.message)

    assert "1 to look at, and this book is not in force yet. With --confirm" in over(False)
    assert "parts.csv" in (said := capsys.readouterr().err) and "1300 is 186 times its cost" in said
    assert over(True) == ""


def test_serve_has_no_word_for_a_sound_book(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    look_over(tmp_path, demo_book(), False)

    assert capsys.readouterr() == ("", "")
