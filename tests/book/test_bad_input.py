"""Figures and orders that no shop has: refused by file, row and column, at loading or by the checker."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from intake.book.problems import Problem

DemoWith = Callable[..., list[Problem]]
JOB = ",0.5,1,1.5,,10,"  # crack-close's hours, price and stage in the minimal book
SHOP = "shop.toml"


def job(**changed: str) -> tuple[str, str]:
    """The same with other cells."""
    cells = {"quick": "0.5", "usual": "1", "slow": "1.5", "price": "", "stage": "10"} | changed
    return JOB, "," + ",".join(cells.values()) + ","


JOBS = {
    "negative hours": (job(quick="-0.5"), "quick", "cannot be negative"),
    "absurd hours": (job(slow="150"), "slow", "is a decimal point missing?"),
    "quick over usual": (job(quick="1.2"), "usual", "quick may not be more than usual"),
    "usual over slow": (job(usual="2"), "usual", "nor usual more than slow"),
    "hours in words": (job(usual="an hour"), "usual", "“an hour” is not a number"),
    "hours without end": (job(usual="9" * 5000), "usual", "is not a number"),
    "hours by zero": (job(usual="1/0"), "usual", "divides by zero"),
    "negative price": (job(price="-5"), "price", "not negative"),
    "price without end": (job(price="1e999999999"), "price", "is not an amount"),
    "price of nothing known": (job(price="nan"), "price", "is not an amount"),
    "stage in figures of another kind": (job(stage="²"), "stage", "whole number"),
    "stage without end": (job(stage="9" * 50), "stage", "whole number"),
    "wait without end": (("24 h,glue", "99999999999 d,glue"), "wait", "24 h or 10 d"),
    "wait of ages": (("24 h,glue", "99999 d,glue"), "wait", "more than ten years"),
    "wait of two years": (("24 h,glue", "800 d,glue"), "wait", "more than a year"),
    "no parts": (("cleat*2", "cleat*0"), "parts", "a quantity is above 0"),
    "fewer than no parts": (("cleat*2", "cleat*-2"), "parts", "a quantity is above 0"),
}


@pytest.mark.parametrize(("change", "column", "words"), JOBS.values(), ids=JOBS)
def test_a_job_that_cannot_be_is_named_by_row_and_column(
    problems_with: Callable[..., list[Problem]], change: tuple[str, str], column: str, words: str
) -> None:
    found = problems_with(("jobs.csv", *change))
    met = [(p.file, p.row, p.column) for p in found if words in p.sentence]
    assert ("jobs.csv", 3, column) in met, [str(problem) for problem in found]


OPERATIONS = {
    "negative": ("-1", "0.2", "0.4", "usual", "not negative"),
    "out of order": ("0.5", "0.2", "0.4", "usual", "quick ≤ usual ≤ slow"),
    "absurd": ("1", "2", "100", "slow", "is a decimal point missing?"),
}


@pytest.mark.parametrize(("quick", "usual", "slow", "column", "words"), OPERATIONS.values(), ids=OPERATIONS)
def test_savings_that_cannot_be(
    problems_with: Callable[..., list[Problem]], quick: str, usual: str, slow: str, column: str, words: str
) -> None:
    text = f"id,name,name [fr],quick,usual,slow\nstrings-off,Strings off,Cordes,{quick},{usual},{slow}\n"
    found = problems_with(("operations.csv", "", text))
    assert any(
        (p.file, p.row, p.column) == ("operations.csv", 2, column) and words in p.sentence for p in found
    )


SHOPS = {
    "tax of 800 %": ('rate = "8 %"', 'rate = "800 %"', "tax 1 rate", "not 800 %"),
    "negative tax": ('rate = "8 %"', 'rate = "-8 %"', "tax 1 rate", "between 0 % and 100 %"),
    "tax without end": ('rate = "8 %"', 'rate = "1e-99999999"', "tax 1 rate", "must be a number"),
    "rate without end": ('labour_rate = "72"', 'labour_rate = "1e999999"', "labour_rate", "must be a number"),
    "deposit over 100 %": (
        'deposit_rate = "25 %"',
        'deposit_rate = "101 %"',
        "deposit_rate",
        "between 0 % and 100 %",
    ),
    "negative deposit": ('deposit_rate = "25 %"', 'deposit_rate = "-1 %"', "deposit_rate", "may not be"),
    "negative validity": ("valid_days = 30", "valid_days = -3", "valid_days", "1 to 366 days"),
    "validity in words": ("valid_days = 30", 'valid_days = "a month"', "valid_days", "whole number"),
    "a yes before today": ("answer_days = 7", "answer_days = -1", "answer_days", "a yes within"),
    "a yes after the quote": ("answer_days = 7", "answer_days = 31", "answer_days", "a yes within"),
    "rounding to hundreds": ('rounding = "0.01"', 'rounding = "500"', "rounding", "more than an hour"),
    "negative rounding": ('rounding = "0.01"', 'rounding = "-0.05"', "rounding", "may not be"),
    "markup of 6000 %": ('parts_markup = "60 %"', 'parts_markup = "60"', "parts_markup", "60 % or 0.6"),
    "worth of 6000 %": ('worth_warning = "60 %"', 'worth_warning = "60"', "worth_warning", "60 % or 0.6"),
    "a language that is a path": ('"en", "fr"]', '"en", "../fr"]', "languages", "is not a language"),
    "a language without letters": ('"en", "fr"]', '"en", ""]', "languages", "is not a language"),
    "a language twice": ('"en", "fr"]', '"en", "fr", "fr"]', "languages", "twice"),
    "a bench without time": ('_share = "75 %"', '_share = "0.000001 %"', "productive_share", "5 % at least"),
    "a number with an underscore": (
        'discount_most = "15 %"',
        'discount_most = "1_5 %"',
        "discount_most",
        "must be a number",
    ),
    "digits of another script": (
        'discount_most = "15 %"',
        'discount_most = "١٥ %"',
        "discount_most",
        "must be a number",
    ),
    "discount of 1500 %": ('discount_most = "15 %"', 'discount_most = "15"', "discount_most", "15 % or 0.15"),
    "negative discount": ('discount_most = "15 %"', 'discount_most = "-15 %"', "discount_most", "may not be"),
    "a 25th hour": ('tue = "10:00-18:00"', 'tue = "10:00-25:00"', "hours.tue", "write 10:00-18:00"),
    "backwards": ('tue = "10:00-18:00"', 'tue = "18:00-10:00"', "hours.tue", "write 10:00-18:00"),
    "into each other": (
        'tue = "10:00-18:00"',
        'tue = "10:00-14:00, 13:00-18:00"',
        "hours.tue",
        "write 10:00",
    ),
    "no such day": ('tue = "10:00', 'tues = "10:00', "hours.tues", "is not a day"),
    "closed for a year": ('"2027-07-01/2027-07-10"', '"2027-07-01/2028-06-30"', "closed", "a whole year"),
    "closed for a year in two": (
        '"2027-07-01/2027-07-10"',
        '"2027-01-01/2027-06-26", "2027-06-29/2028-01-01"',  # between them a Sunday and a Monday
        "closed",
        "a whole year",
    ),
    "closed backwards": ('"2027-07-01/2027-07-10"', '"2027-07-10/2027-07-01"', "closed", "before it begins"),
    "closed on no day": ('"2027-07-01/2027-07-10"', '"2027-02-30"', "closed", "no calendar has"),
    "no such region": ('region = "US"', 'region = "XX"', "region", "not known"),
}


@pytest.mark.parametrize(("old", "new", "column", "words"), SHOPS.values(), ids=SHOPS)
def test_a_shop_that_cannot_be_is_named_by_its_key(
    demo_with: DemoWith, old: str, new: str, column: str, words: str
) -> None:
    found = demo_with((SHOP, old, new))
    assert any((p.file, p.column) == (SHOP, column) and words in p.sentence for p in found), [
        *map(str, found)
    ]


def test_two_closed_spans_with_an_open_day_between_are_no_year(demo_with: DemoWith) -> None:
    spans = '"2027-01-01/2027-06-26", "2027-06-30/2028-01-01"'  # Tuesday the 29th is open
    assert demo_with((SHOP, '"2027-07-01/2027-07-10"', spans)) == []


def test_no_rounding_is_rounding_0(demo_with: DemoWith) -> None:
    assert demo_with((SHOP, 'rounding = "0.01"', 'rounding = "0"')) == []


@pytest.mark.parametrize("column", ["after", "needs", "includes"])
def test_jobs_in_a_circle(problems_with: Callable[..., list[Problem]], column: str) -> None:
    head = "id,group,name,name [fr],quick,usual,slow,price,stage,after,needs,includes,operations,parts,wait,"
    ids = {"rod-adjust": "crack-close", "crack-close": "brace-reglue", "brace-reglue": "rod-adjust"}
    at = ("after", "needs", "includes").index(column)
    rows = [f"{id},g,N,N,1,1,1,,10,{',' * at}{other}{',' * (2 - at)},,," for id, other in ids.items()]
    found = problems_with(("jobs.csv", "", "\n".join([head.rstrip(","), *rows, ""])))
    assert any((p.file, p.column) == ("jobs.csv", column) and "circle" in p.sentence and p.row for p in found)


def test_the_folder_may_be_empty(tmp_path: Path, problems_of_folder: Callable[[Path], list[Problem]]) -> None:
    found = problems_of_folder(tmp_path)
    assert {"shop.toml", "jobs.csv", "checklist.toml"} <= {p.file for p in found}
