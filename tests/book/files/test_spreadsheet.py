"""A book that went through a spreadsheet: read where it can mean one thing, else refused with a way out."""

from __future__ import annotations

import csv
import io
import re
import shutil
from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.book.files.load import load_book
from intake.book.files.spreadsheet import SpreadsheetError, date_problem, number_text, plain_tests
from intake.book.problems import BookError, Problem
from intake.book.sfeel import parse_number, parse_tests
from intake.book.tables import Table
from intake.config import demo_book
from tests.memo import sample_book

WriteBook = Callable[..., Path]
PLAIN = re.compile(r"-?\d*\.\d+")
DATE = re.compile(r"(0?[1-9]|1[0-2])/(\d{1,2})")
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


def problems_of(folder: Path) -> list[Problem]:
    with pytest.raises(BookError) as refused:
        load_book(folder)
    return refused.value.problems


def saved_again(
    folder: Path, delimiter: str, encoding: str, comma: bool, first: str = "", last: str = ""
) -> None:
    """Every CSV of the folder as a spreadsheet of that country writes it, `last` behind each row."""
    for path in folder.rglob("*.csv"):
        rows = list(csv.reader(io.StringIO(path.read_text("utf-8"))))
        target = io.StringIO(newline="")
        writer = csv.writer(target, delimiter=delimiter, lineterminator="\r\n")
        for row in rows:
            cells = [_cell(cell, comma) for cell in row]
            writer.writerow([*cells, *([""] * len(last))])
        path.write_bytes((first + target.getvalue() + 2 * f"{delimiter * 3}\r\n").encode(encoding))


def _cell(cell: str, comma: bool) -> str:
    if cell in ("true", "false"):
        return {"true": "WAHR", "false": "FALSCH"}[cell] if comma else cell.upper()
    if match := DATE.fullmatch(cell):  # what it takes for a day and a month
        return f"{match[2]}-{MONTHS[int(match[1]) - 1]}"
    return cell.replace(".", ",") if comma and PLAIN.fullmatch(cell) else cell


@pytest.mark.parametrize(
    ("delimiter", "encoding", "comma", "first"),
    [
        (",", "utf-8-sig", False, ""),
        (";", "utf-8-sig", True, ""),
        (";", "utf-8", True, "sep=;\r\n"),
        ("\t", "utf-16", True, ""),
    ],
    ids=["commas and BOM", "semicolons and decimal commas", "sep=;", "UTF-16 with tabs"],
)
def test_the_whole_demo_book_comes_back(
    tmp_path: Path, delimiter: str, encoding: str, comma: bool, first: str
) -> None:
    folder = tmp_path / "book"
    shutil.copytree(demo_book(), folder)
    saved_again(folder, delimiter, encoding, comma, first, last="xx")
    ours, theirs = sample_book(), load_book(folder)
    shift = 1 if first else 0
    for name in ("jobs", "operations", "parts", "shop", "questions", "units", "families"):
        assert getattr(theirs, name) == getattr(ours, name), name
    for name, table in ours.tables.items():
        assert meaning(theirs.tables[name], shift) == meaning(table), name
    for name in ("targets", "defaults", "hands", "target_changes", "remedies", "factors", "fitting"):
        assert meaning(getattr(theirs, name), shift) == meaning(getattr(ours, name)), name
    assert [without_notes(row) for row in theirs.strings] == [without_notes(row) for row in ours.strings]


def meaning(table: Table, shift: int = 0) -> tuple[Any, ...]:
    rows = [
        (row.line - shift, [replace(test, text="") for test in row.tests], row.outputs) for row in table.rows
    ]
    return table.policy, table.each, table.inputs, table.outputs, rows


def without_notes(row: Mapping[str, str]) -> tuple[Any, ...]:
    number = float(row["unit_weight"])
    return row["family"], row["gauge_set"], row["string"], float(row["gauge"]), row["kind"], number


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("1,5", "1.5"),
        ("0,75", "0.75"),
        ("-0,5", "-0.5"),
        (",5", ".5"),
        ("1.5", "1.5"),
        ("5/64", "5/64"),
        ("2 1/2", "2 1/2"),
        ("2.2E-05", "0.000022"),
        ("2,2E-05", "0.000022"),
        ("−3", "-3"),
    ],
)
@pytest.mark.parametrize("comma", [True, False])
def test_a_number_is_read_where_it_is_one(written: str, read: str, comma: bool) -> None:
    assert parse_number(number_text(written, comma)) == parse_number(read)


@pytest.mark.parametrize(
    ("written", "comma", "words"),
    [
        ("1,500", False, "write 1.500 or 1500"),
        ("1.234,50", True, "groups its digits"),
        ("1,234.50", False, "groups its digits"),
        ("1'234.50", False, "groups its digits"),
        ("1,234,567", False, "groups its digits"),
    ],
)
def test_a_number_that_could_be_two_is_refused(written: str, comma: bool, words: str) -> None:
    with pytest.raises(SpreadsheetError, match=re.escape(words)):
        number_text(written, comma)


DATES = {
    "5-Apr": "4/5 or 5/4",
    "05.Mai": "5/5",
    "05. Mai": "5/5",
    "4. Mai": "4/5 or 5/4",
    "May-64": "5/64",
    "Mai 64": "5/64",
    "mai-64": "5/64",
    "févr.-32": "2/32",
    "3-Apr-2026": "3/4 or 4/3",
    "1964-05-01": "5/64",
    "2026-03-04": "3/4 or 4/3",
    "2026-05-64": "5/64 or 64/5",
    "2026-03-04 00:00:00": "3/4 or 4/3",
    "3/4/2026": "3/4 or 4/3",
    "04.03.2026": "3/4 or 4/3",
}


@pytest.mark.parametrize(("cell", "meant"), DATES.items(), ids=DATES)
def test_a_fraction_that_became_a_date_is_refused_with_what_it_was(cell: str, meant: str) -> None:
    for read in (number_text, plain_tests):
        with pytest.raises(SpreadsheetError, match=re.escape(f"such as {meant} for one")):
            read(cell, False)


@pytest.mark.parametrize(
    "cell", ["5/64", "2 1/2", "-", "0.030", "12-fret", "<5/64", '"may-64"', "setup-12", "3..4", "10 d", "1/2"]
)
def test_what_is_no_date_is_left_alone(cell: str) -> None:
    assert date_problem(cell) == ""


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("“acoustic”,“archtop”", '"acoustic","archtop"'),
        ("not(„none“)", 'not("none")'),
        ("TRUE", "true"),
        ("FAUX", "false"),
        ("–", "-"),
        ("≤5/64", "<=5/64"),
        ("[0.030…0.040)", "[0.030..0.040)"),
        ('"a – b"', '"a – b"'),
    ],
)
@pytest.mark.parametrize("comma", [True, False])
def test_typesetters_signs_are_read(written: str, meant: str, comma: bool) -> None:
    assert same(plain_tests(written, comma), meant)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("<0,030", "<0.030"),
        ("[0,030..0,040)", "[0.030..0.040)"),
        ("]0,5..1,25]", "]0.5..1.25]"),
        ("0,030", "0.030"),
        ("6,7,12", "6,7,12"),
        ("6, 12", "6,12"),
        ("<0.002,>0.010", "<0.002,>0.010"),
        ("<0,002,>0,010", "<0.002,>0.010"),
        ('"light",12', '"light",12'),
        ("not(0)", "not(0)"),
    ],
)
def test_decimal_commas_in_tests(written: str, meant: str) -> None:
    assert same(plain_tests(written, True), meant)


def same(one: str, other: str) -> bool:
    return replace(parse_tests(one), text="") == replace(parse_tests(other), text="")


def test_one_number_or_two_is_asked_for() -> None:
    with pytest.raises(SpreadsheetError, match=r"write 6\.12, or 6, 12 with a space"):
        plain_tests("6,12", True)
    assert same(plain_tests("6,12", False), "6,12")


@given(st.decimals(-1000, 1000, places=4, allow_nan=False))
def test_a_decimal_comma_never_changes_a_number(number: Decimal) -> None:
    assert parse_number(number_text(str(number).replace(".", ","), True)) == Fraction(number)


FAULTS = {
    "a date for hours": ("jobs.csv", "0.2,0.3,0.5", "0.2,3-Oct,0.5", 2, "usual", "“3-Oct” is a date"),
    "a date in a test": ("tables/relief.csv", "<0.002", "May-64", 3, "relief [in]", "such as 5/64"),
    "a thousand or not": ("jobs.csv", "65.00", '"65,000"', 4, "price", "65.000 or 65000"),
    "not a number": ("jobs.csv", "65.00", "NaN", 4, "price", "not an amount"),
    "infinite": ("parts.csv", "0.50", "Infinity", 2, "cost", "not an amount"),
    "read wrongly": ("jobs.csv", "Brace glued", "Brace collÃ©e", 4, "name", "“Brace collée”"),
    "a letter lost": ("jobs.csv", "Brace glued", "Brace coll�e", 4, "name", "a letter was lost"),
}


@pytest.mark.parametrize(("file", "old", "new", "row", "column", "words"), FAULTS.values(), ids=FAULTS)
def test_what_cannot_be_read_is_named_by_file_row_and_column(
    write_book: WriteBook, file: str, old: str, new: str, row: int, column: str, words: str
) -> None:
    found = problems_of(write_book((file, old, new)))
    met = [(p.file, p.row, p.column) for p in found if words in p.sentence]
    assert (file, row, column) in met, [str(problem) for problem in found]


def test_an_older_encoding_is_named_by_row_and_column(write_book: WriteBook) -> None:
    folder = write_book(("jobs.csv", "Brace glued", "Brace collée"))
    path = folder / "jobs.csv"
    path.write_bytes(path.read_text("utf-8").encode("cp1252"))
    (problem,) = [p for p in problems_of(folder) if p.file == "jobs.csv"]
    assert (problem.row, problem.column) == (2, "D")
    assert "older encoding" in problem.sentence and "CSV UTF-8" in problem.sentence


def test_what_is_no_text_is_refused(write_book: WriteBook) -> None:
    folder = write_book()
    (folder / "jobs.csv").write_bytes(b"PK\x03\x04\x00\xff\xfe\x00")
    (problem,) = [p for p in problems_of(folder) if p.file == "jobs.csv"]
    assert "not text" in problem.sentence


def test_rows_that_landed_in_one_cell_say_so(write_book: WriteBook) -> None:
    folder = write_book()
    path = folder / "parts.csv"
    top, *rest = path.read_text("utf-8").splitlines()
    wrapped = ['"' + line.replace('"', '""') + '"' for line in rest]
    path.write_text("\r\n".join([top.replace(",", ";"), *wrapped]), "utf-8")
    found = [p for p in problems_of(folder) if p.file == "parts.csv"]
    assert any(p.row == 2 and "whole row stands in one cell" in p.sentence for p in found)
