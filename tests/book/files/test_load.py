"""A book from its folder: every fault at once, tables in order, a digest of what counts."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import time, timedelta
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from intake.book.files.load import digest, load_book
from intake.book.model import Book
from intake.book.problems import BookError, Problem

WriteBook = Callable[..., Path]


def problems_of(folder: Path) -> list[Problem]:
    with pytest.raises(BookError) as refused:
        load_book(folder)
    return refused.value.problems


def test_everything_stands_where_the_model_says(book: Book) -> None:
    assert book.shop.open_hours[1] == ((time(10), time(12, 30)), (time(13, 30), time(18)))
    assert book.shop.terms[0] == {"en": "Pay when you collect.", "fr": "Payer au retrait."}
    assert book.questions["relief"].high == Fraction("0.1")
    job = book.jobs["crack-close"]
    assert (job.wait, job.splits, job.parts) == (timedelta(hours=24), False, (("cleat", Fraction(2)),))
    assert (job.price, book.jobs["brace-reglue"].price) == (None, Decimal("65.00"))
    assert book.places["jobs.csv", "brace-reglue"] == 4
    assert book.units["relief_low"] == book.units["relief"] == "in"
    assert book.units["default_shop_rh"] == "%"
    assert book.defaults.evaluate({})[0].outputs["default_join_fret"] == 14


FAULTS = {
    "price": ("jobs.csv", "65.00", "dear", 4, "price", "“dear”"),
    "stage": ("jobs.csv", ",,10,", ",,ten,", 3, "stage", "whole number"),
    "hours": ("jobs.csv", "0.2,0.3,0.5", "0.2,abit,0.5", 2, "usual", "“abit”"),
    "wait": ("jobs.csv", "24 h,glue", "1 day,glue", 3, "wait", "24 h or 10 d"),
    "wait kind": ("jobs.csv", "24 h,glue", "24 h,sun", 3, "wait kind", "“sun”"),
    "splits": ("jobs.csv", "glue,no", "glue,maybe", 3, "splits", "yes nor no"),
    "two of a kind": ("jobs.csv", "brace-reglue", "crack-close", 4, "id", "row 3"),
    "no name": ("jobs.csv", "Brace glued", "", 4, "name", "missing"),
    "heading": ("jobs.csv", "wait kind", "waitkind", 1, "waitkind", "not a column"),
    "parts": ("jobs.csv", "cleat*2", "cleat*two", 3, "parts", "id*2"),
    "cost": ("parts.csv", "0.50", "half", 2, "cost", "“half”"),
    "currency": ("shop.toml", '"EUR"', '"ecu"', None, "currency", "ecu"),
    "hours of a day": ("shop.toml", "10:00-18:00", "18:00-10:00", None, "hours.wed", "10:00-18:00"),
    "a day": ("shop.toml", "wed =", "wednsday =", None, "hours.wednsday", "not a day"),
    "strange key": ("shop.toml", "minimum =", "minimun =", None, "minimun", "not known"),
    "closed": ("shop.toml", '"2026-12-24"', '"christmas"', None, "closed", "christmas"),
    "an id of another writing": ("checklist.toml", 'id = "relief"', 'id = "ä"', 24, "id", "“ä” cannot be"),
    "the form's own field": ("checklist.toml", 'id = "relief"', 'id = "key"', 24, "id", "“key” cannot be"),
    "kind": ("checklist.toml", 'kind = "measure"', 'kind = "length"', 24, "kind", "“length”"),
    "unit": ("checklist.toml", 'unit = "in"', 'unit = "inch"', 24, "unit", "“inch”"),
    "bound": ("checklist.toml", 'low = "-0.060 in"', 'low = "few"', 24, "low", "“few”"),
    "value": ("checklist.toml", '"0.004 in"', '"four"', 24, "values", "“four”"),
    "not TOML": ("checklist.toml", 'kind = "measure"', "kind = measure", 26, "", "TOML"),
    "unknown job": ("remedies.csv", "rod-adjust", "rod-ajust", 4, "then job", "is “rod-adjust” meant?"),
    "unknown need": ("jobs.csv", "20,crack-close", "20,crack-cloze", 2, "after", "is “crack-close” meant?"),
    "circle": ("jobs.csv", "65.00,10,", "65.00,10,brace-reglue", 4, "after", "circle"),
}


@pytest.mark.parametrize(("file", "old", "new", "row", "column", "words"), FAULTS.values(), ids=FAULTS)
def test_a_fault_is_named_by_file_row_and_column(
    write_book: WriteBook, file: str, old: str, new: str, row: int | None, column: str, words: str
) -> None:
    found = problems_of(write_book((file, old, new)))
    met = [(p.file, p.row, p.column) for p in found if words in p.sentence]
    assert (file, row, column) in met, [str(problem) for problem in found]


def test_faults_of_all_files_come_together(write_book: WriteBook) -> None:
    folder = write_book(
        ("jobs.csv", "65.00", "dear"),
        ("tables/relief.csv", "<0.002", "<0.0O2"),
        ("shop.toml", '"EUR"', '"ecu"'),
    )
    (folder / "woods.csv").unlink()
    assert {p.file for p in problems_of(folder)} == {
        "jobs.csv",
        "tables/relief.csv",
        "shop.toml",
        "woods.csv",
    }


def test_a_folder_that_is_not_there_is_a_problem_too(tmp_path: Path) -> None:
    assert "no such folder" in problems_of(tmp_path / "nowhere")[0].sentence


AFTER = (
    "hit policy,first\nfinding.{},then finding,then severity,then says,then says [fr]\ntrue,{},watch,X.,X.\n"
)


def test_tables_run_after_those_whose_findings_they_test(write_book: WriteBook) -> None:
    book = load_book(
        write_book(
            ("tables/a_last.csv", "", AFTER.format("b_found", "a_found")),
            ("tables/b_middle.csv", "", AFTER.format("relief-high", "b_found")),
        )
    )
    order = list(book.tables)
    assert order.index("relief") < order.index("b_middle") < order.index("a_last")


def test_tables_in_a_circle_are_refused(write_book: WriteBook) -> None:
    folder = write_book(
        ("tables/a.csv", "", AFTER.format("b_found", "a_found")),
        ("tables/b.csv", "", AFTER.format("a_found", "b_found")),
    )
    (problem,) = problems_of(folder)
    assert "circle" in problem.sentence and "tables/a.csv" in problem.sentence


def test_the_digest_counts_contents_and_names_but_not_line_ends_or_walkins(write_book: WriteBook) -> None:
    folder = write_book()
    first = digest(folder)
    path = folder / "jobs.csv"
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    (folder / "walkins").mkdir()
    (folder / "walkins" / "one.toml").write_text("title = 'x'")
    assert digest(folder) == first == load_book(folder).digest
    path.write_bytes(path.read_bytes() + b"\n")
    changed = digest(folder)
    shutil.move(folder / "tables" / "relief.csv", folder / "tables" / "bow.csv")
    assert len({first, changed, digest(folder)}) == 3


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        ("lute,action_,1 mm,4 mm", "family", "is not a family"),
        ("classical,action_,much,4 mm", "least", "cannot be read"),
        ("classical,action_,4 mm,1 mm", "least", "not under the most"),
    ],
)
def test_a_range_that_cannot_be_is_named(write_book: WriteBook, row: str, column: str, words: str) -> None:
    folder = write_book(("ranges.csv", "", f"family,figure,least,most\n{row}\n"))

    (problem,) = problems_of(folder)

    assert (problem.file, problem.row, problem.column) == ("ranges.csv", 2, column)
    assert words in problem.sentence
