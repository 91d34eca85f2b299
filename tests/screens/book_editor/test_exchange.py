"""The book as a zip: out and in again without loss, and nothing else gets in."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable
from typing import Any

import pytest
from werkzeug.test import TestResponse

from intake.config import demo_book
from intake.screens.book_editor.zip_files import MOST_BYTES, MOST_ENTRIES, ZipError, read_zip
from intake.store.books import read_folder

DEMO = read_folder(demo_book())


def zipped(files: Iterable[tuple[str, bytes]]) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files:
            archive.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED)
    return target.getvalue()


def send(owner: Any, content: bytes, name: str = "book.zip") -> TestResponse:
    answer: TestResponse = owner.client.post("/book/import", data={"zip": (io.BytesIO(content), name)})
    return answer


def edited(file: str, old: str, new: str) -> dict[str, bytes]:
    text = DEMO[file].decode()
    assert old in text
    return DEMO | {file: text.replace(old, new, 1).encode()}


def test_out_and_in_again_without_loss(owner: Any) -> None:
    out = owner.client.get("/book/export/1")
    assert read_zip(out.data) == DEMO and "book-1.zip" in out.headers["Content-Disposition"]
    assert send(owner, out.data).status_code == 409 and not owner.drafted
    owner.change("/book/money", labour_rate="90")
    owner.save()
    assert send(owner, out.data).headers["Location"] == "/book/effect"
    owner.save()
    assert read_zip(owner.client.get("/book/export/3").data) == DEMO
    page = owner.client.get("/book/").text
    assert "brought in from “book.zip”" in page and "Labour rate, an hour: 90 → 72" in page


def test_samples_and_line_ends_are_kept_although_no_quote_depends_on_them(owner: Any) -> None:
    other = DEMO | {
        "parts.csv": DEMO["parts.csv"].replace(b"\n", b"\r\n"),
        "walkins/new.toml": b"title = 'x'\n",
    }
    digest = owner.ctx.book.digest
    assert send(owner, zipped(other.items())).status_code == 303
    owner.save()
    assert owner.ctx.book.digest == digest
    assert read_zip(owner.client.get("/book/export/2").data) == other
    assert read_zip(owner.client.get("/book/export/1").data) == DEMO


def test_a_folder_around_the_book_and_what_systems_add_are_left_out(owner: Any) -> None:
    other = edited("shop.toml", 'labour_rate = "72"', 'labour_rate = "75"')
    around = [(f"our book/{name}", content) for name, content in other.items()]
    junk = [("__MACOSX/our book/._shop.toml", b"x"), ("our book/.DS_Store", b"x")]
    assert send(owner, zipped([*around, *junk])).status_code == 303
    owner.save()
    assert owner.ctx.book.shop.labour_rate == 75
    assert read_zip(owner.client.get("/book/export/2").data) == other


def test_a_faulty_book_is_refused_with_every_place_named(owner: Any) -> None:
    faulty = edited("shop.toml", 'rate = "8 %"', 'rate = "800 %"')
    faulty |= {"jobs.csv": DEMO["jobs.csv"].replace(b",0.30,0.50,0.80,", b",3,0.50,-1,", 1)}
    answer = send(owner, zipped(faulty.items()))
    assert answer.status_code == 422 and not owner.drafted
    assert "shop.toml, tax 1 rate: A tax is between 0 % and 100 %" in answer.text
    hours = DEMO | {"jobs.csv": faulty["jobs.csv"]}
    answer = send(owner, zipped(hours.items()))
    assert answer.status_code == 422 and "jobs.csv, row 2, usual:" in answer.text


def test_a_book_without_its_files_is_refused(owner: Any) -> None:
    answer = send(owner, zipped([("shop.toml", DEMO["shop.toml"])]))
    assert answer.status_code == 422 and "jobs.csv: This file is missing." in answer.text


def test_a_draft_is_not_lost_to_an_import(owner: Any) -> None:
    owner.change("/book/money", labour_rate="90")
    other = edited("shop.toml", 'minimum = "25"', 'minimum = "30"')
    answer = send(owner, zipped(other.items()))
    assert answer.status_code == 409 and owner.form("/book/money")["labour_rate"] == "90"


@pytest.mark.parametrize(
    "name",
    ["../shop.toml", "/etc/shop.toml", "a/../../b.csv", "C:\\shop.toml", "a\\b.csv", "a//b", "x/" * 9 + "y",
     "tables/x.csv\n", "~root", "tables/" + "a" * 300 + ".csv", "shop.toml/x.csv", "tables"],
)  # fmt: skip
def test_names_that_lead_elsewhere_are_refused(name: str) -> None:
    with pytest.raises(ZipError):
        read_zip(zipped([*DEMO.items(), (name, b"x")]))


def test_what_is_too_much_is_refused() -> None:
    with pytest.raises(ZipError, match="too large"):
        read_zip(zipped([("shop.toml", b"0" * (MOST_BYTES + 1))]))
    with pytest.raises(ZipError, match="more files"):
        read_zip(zipped((f"tables/{number}.csv", b"") for number in range(501)))
    with pytest.raises(ZipError, match="twice"):
        read_zip(zipped([("shop.toml", b"a"), ("Shop.toml", b"b")]))


def test_a_name_that_goes_on_behind_a_nul_is_refused() -> None:
    """zipfile cuts it off, so that the file would come in under the name before."""
    shown, hidden = b"tables/more.csvXX.exe", b"tables/more.csv\0X.exe"
    content = zipped([*DEMO.items(), (shown.decode(), b"x")])
    assert content.count(shown) == 2

    with pytest.raises(ZipError, match="not the name"):
        read_zip(content.replace(shown, hidden))


@pytest.mark.parametrize("name", ["folder{}/", "__MACOSX/{}", ".{}"])
def test_entries_without_end_are_refused_before_they_are_listed(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Folders and hidden files too: listing 200,000 of them takes memory and time."""
    content = zipped((name.format(number), b"") for number in range(MOST_ENTRIES + 1))
    monkeypatch.setattr(zipfile, "ZipFile", lambda *_: pytest.fail("it was opened"))

    with pytest.raises(ZipError, match="more files"):
        read_zip(content)


@pytest.mark.parametrize(
    ("key", "words"),
    [("9" * 6000, "too long to be read"), (".".join("k" * 17), "too many parts")],
)
def test_toml_that_takes_ages_or_breaks_the_reader_is_refused_in_words(
    standing: Any, key: str, words: str
) -> None:
    """A whole number of 6,000 digits, and a key of many parts (40 kB of it took a minute)."""
    line = f"x = {key}" if key.isdigit() else f"{key} = 1"
    other = {**DEMO, "shop.toml": line.encode() + b"\n" + DEMO["shop.toml"]}

    answer = send(standing, zipped(other.items()))

    assert answer.status_code == 422
    assert "shop.toml" in answer.text and words in answer.text


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 and no more", b"not a zip at all"])
def test_what_is_no_zip_is_refused_in_words(standing: Any, content: bytes) -> None:
    answer = send(standing, content)
    assert answer.status_code == 422 and "not a zip" in answer.text


def test_nothing_chosen(standing: Any) -> None:
    assert standing.client.post("/book/import").status_code == 422
    assert standing.client.get("/book/export/99").status_code == 404
