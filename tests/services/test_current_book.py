"""Which book holds after a start: the folder's, until somebody has made a revision."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from flask import Flask

from intake.book.problems import BookError
from intake.cli.main import main
from intake.config import Settings, demo_book
from intake.services.current_book import load_files
from intake.store import revisions

Open = Callable[[Settings], Flask]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(demo_book(), tmp_path / "book"))


def reprice(folder: Path, rate: str) -> None:
    shop = folder / "shop.toml"
    lines = shop.read_text("utf-8").splitlines(keepends=True)
    shop.write_text(
        "".join(f'labour_rate = "{rate}"\n' if line.startswith("labour_rate") else line for line in lines),
        "utf-8",
    )


def start(open_app: Open, data: Path, folder: Path) -> Any:
    return open_app(Settings(data, folder)).extensions["context"]


def test_a_folder_that_changed_is_the_next_revision(open_app: Open, data: Path, folder: Path) -> None:
    start(open_app, data, folder)
    start(open_app, data, folder)
    reprice(folder, "80")
    ctx = start(open_app, data, folder)
    found = revisions.latest(ctx.store.db, 9)
    assert [(one.number, one.kind) for one in found] == [(2, "start"), (1, "start")]
    assert ctx.book.shop.labour_rate == 80


def test_what_the_owner_saved_holds_whatever_the_folder_says(
    open_app: Open, data: Path, folder: Path
) -> None:
    ctx = start(open_app, data, folder)
    files = revisions.files_of(ctx.store.db, 1)
    reprice(folder, "90")
    with ctx.store.writing() as db:
        other = files | {"shop.toml": (folder / "shop.toml").read_bytes()}
        revisions.put_in_force(db, load_files(other).digest, other, ctx.now(), "edit")
    reprice(folder, "100")
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    again = start(open_app, data, folder)
    assert again.book.shop.labour_rate == Decimal(90) and len(revisions.latest(again.store.db, 9)) == 2
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before
    shutil.rmtree(folder)
    assert start(open_app, data, folder).book.shop.labour_rate == 90


def test_a_faulty_folder_stops_the_first_start_with_its_places(
    open_app: Open, data: Path, folder: Path
) -> None:
    reprice(folder, "a lot")
    with pytest.raises(BookError, match="labour_rate must be a number"):
        start(open_app, data, folder)


def test_a_book_that_a_newer_version_cannot_read_names_the_way_out(
    open_app: Open, data: Path, folder: Path
) -> None:
    """Out with it, mended, and in again."""
    ctx = start(open_app, data, folder)
    files = revisions.files_of(ctx.store.db, 1)
    broken = files | {"shop.toml": files["shop.toml"].replace(b"valid_days = 30", b'valid_days = "soon"')}
    with ctx.store.writing() as db:
        revisions.put_in_force(db, "another digest", broken, ctx.now(), "edit")
    with pytest.raises(BookError, match=r"tallyfret book export FOLDER(.|\n)*valid_days must be"):
        start(open_app, data, folder)
    assert command(data, "export", str(folder / "out")) == 0
    assert (folder / "out" / "shop.toml").read_bytes() == broken["shop.toml"]
    assert command(data, "load", str(folder / "out")) == 2
    (folder / "out" / "shop.toml").write_bytes(files["shop.toml"])
    assert command(data, "load", str(folder / "out")) == 0
    assert start(open_app, data, folder).book.shop.valid_days == 30


def command(data: Path, *words: str) -> int:
    return CliRunner().invoke(main, ["--data", str(data), "book", *words]).exit_code
