"""Every CSV of the demo book opened and saved by a real spreadsheet, and the book read again, equal.

LibreOffice Calc without a window. The filters' numbers stand in its help under "Filter Options for CSV":
separator, quote, encoding (76 is UTF-8), first row, column formats, language, all text quoted, and on reading
"detect special numbers", on writing "as shown".
"""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import fields
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from intake.book.files.load import load_book
from intake.book.problems import BookError
from intake.config import demo_book

CALC = shutil.which("soffice") or shutil.which("libreoffice")
FILTER = "Text - txt - csv (StarCalc)"
SHOPS = {
    "dates and numbers recognised": ("44,34,76,1,,1033,false,true", "44,34,76,1,,1033,false,true"),
    "saved with decimal commas": ("44,34,76,1,,1033,false,true", "59,34,76,1,,1031,false,true"),
    "every text quoted": ("44,34,76,1,,1033,true,true", "44,34,76,1,,1033,true,true"),
}
OF_THE_FOLDER = ("digest", "places")

pytestmark = [
    pytest.mark.deep,
    pytest.mark.skipif(
        CALC is None, reason="NO LIBREOFFICE CALC here: no table was saved by a real spreadsheet"
    ),
]


def save_all(folder: Path, read: str, written: str, profile: Path) -> None:
    """Open every CSV in that folder and save it in its place."""
    paths = [str(path) for path in sorted(folder.glob("*.csv"))]
    opening = [f"--infilter={FILTER}:{read}"] if read else []
    command = [str(CALC), "--headless", f"-env:UserInstallation={profile.as_uri()}", *opening]
    saving = ["--convert-to", f"csv:{FILTER}:{written}", "--outdir", str(profile / "out"), *paths]
    subprocess.run([*command, *saving], check=True, capture_output=True, timeout=300)
    for path in (profile / "out").iterdir():
        shutil.move(path, folder / path.name)


@pytest.mark.parametrize(("read", "written"), SHOPS.values(), ids=SHOPS)
def test_the_book_comes_back_from_a_real_spreadsheet(tmp_path: Path, read: str, written: str) -> None:
    folder = tmp_path / "book"
    shutil.copytree(demo_book(), folder, ignore=shutil.ignore_patterns("walkins"))

    for place in (folder, folder / "tables"):
        save_all(place, read, written, tmp_path / "profile")
    ours, theirs = load_book(demo_book()), load_book(folder)

    assert (folder / "targets.csv").read_bytes() != (demo_book() / "targets.csv").read_bytes()
    for field in fields(ours):
        if field.name not in OF_THE_FOLDER:
            assert plain(getattr(theirs, field.name)) == plain(getattr(ours, field.name)), field.name


def test_letters_that_calc_guessed_wrong_are_named_with_the_way_out(tmp_path: Path) -> None:
    """Opened without a word about the encoding, which Calc then guesses."""
    folder = tmp_path / "book"
    shutil.copytree(demo_book(), folder, ignore=shutil.ignore_patterns("walkins"))

    save_all(folder, "", "44,34,76,1,,0,false,true", tmp_path / "profile")
    with pytest.raises(BookError) as refused:
        load_book(folder)

    assert {problem.sentence.rpartition(": ")[2] for problem in refused.value.problems} == {
        "open the file as UTF-8, and save it as “CSV UTF-8”."
    }


def plain(value: Any) -> Any:
    """A list's cells as they are written: 0.0120 is 0.012."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, tuple) and value and isinstance(value[0], dict):
        return [{key: number(cell) for key, cell in row.items()} for row in value]
    return value


def number(cell: str) -> str | Fraction:
    try:
        return Fraction(cell)
    except ValueError:
        return cell
