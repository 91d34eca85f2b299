"""Faults planted in jobs, operations, parts and remedies, each found in its row and column."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from intake.book.problems import Problem

DemoWith = Callable[..., list[Problem]]
DEMO = Path(__file__).parents[3] / "pricing_demo"


PAIR = (("tea", "coffee"), ("coffee", "tea"))
JOBS = "".join(f"{id},body,{id.title()},{id.title()},1,1,1,,,12\n" for id, _ in PAIR)


def order_of(column: str) -> str:
    """Two jobs after the demo's own, each naming the other in one column."""
    other = {"needs": ",{},,", "needs if found": ",,{},", "includes": ",,,{}"}[column]
    return "".join(f"{id},{other.format(name)}\n" for id, name in PAIR)


@pytest.mark.parametrize("column", ["needs", "needs if found", "includes"])
def test_jobs_that_stand_in_a_circle_are_found(demo_with: DemoWith, column: str) -> None:
    jobs, order = ((DEMO / file).read_text("utf-8") for file in ("jobs.csv", "order.csv"))
    found = demo_with(("jobs.csv", jobs, jobs + JOBS), ("order.csv", order, order + order_of(column)))
    circle = [p for p in found if "circle" in p.sentence]
    count = len(order.splitlines())
    assert {(p.file, p.column) for p in circle} == {("order.csv", column)}
    assert circle[0].row in (count + 1, count + 2)
    assert "tea → coffee" in circle[0].sentence or "coffee → tea" in circle[0].sentence


ROWS = {
    "hours below nothing": (
        "jobs.csv",
        "Restring,Changement de cordes,0.25",
        "Restring,Changement de cordes,-0.25",
        "restring",
        "quick",
        "negative",
    ),
    "saving the wrong way": (
        "operations.csv",
        "0.20,0.30,0.45",
        "0.20,0.50,0.45",
        "strings",
        "usual",
        "quick ≤ usual",
    ),
    "cost below nothing": ("parts.csv", "7.00,13.00", "-7.00,13.00", "strings-steel", "cost", "not negative"),
    "price below nothing": (
        "parts.csv",
        "7.00,13.00",
        "7.00,-13.00",
        "strings-steel",
        "price",
        "not negative",
    ),
    "part not in French": ("parts.csv", '"Cordes acier, six"', "", "strings-steel", "name [fr]", "language"),
    "operation not in French": (
        "operations.csv",
        "Cordes ôtées et remises",
        "",
        "strings",
        "name [fr]",
        "language",
    ),
    "braces in a job": (
        "jobs.csv",
        ",Restring,",
        ",Restring {strings_state},",
        "restring",
        "name",
        "no braces",
    ),
}


@pytest.mark.parametrize(("file", "old", "new", "id", "column", "words"), ROWS.values(), ids=ROWS)
def test_a_fault_in_a_list_is_found_in_its_row(
    demo_with: DemoWith, file: str, old: str, new: str, id: str, column: str, words: str
) -> None:
    lines = (DEMO / file).read_text("utf-8").splitlines()
    row = next(number for number, line in enumerate(lines, 1) if line.startswith(f"{id},"))
    found = demo_with((file, old, new))
    met = {(p.file, p.row, p.column) for p in found if words in p.sentence}
    assert (file, row, column) in met, [str(problem) for problem in found]


REMEDIES = {
    "a field of no pin": (
        '"""relief_high""","""crack""",rod-adjust,1,playable,',
        "kind",
        "is at a pin, so there is no kind",
    ),
    "a count of no pin": (
        '"""relief_high""",-,brace-reglue,count,playable,',
        "then quantity",
        "no count to count",
    ),
    "a job that is not counted": ('"""hole""",-,setup,count,playable,', "then quantity", "per what"),
    "instead of nothing": ('"""hole""",-,setup,1,playable,stup', "then instead of", "is “setup” meant?"),
    "no such severity": ('"""relief_high""",-,setup,1,cheap,', "then tier", "“cheap”"),
}


@pytest.mark.parametrize(("row", "column", "words"), REMEDIES.values(), ids=REMEDIES)
def test_a_fault_in_a_remedy_is_found_in_its_row(
    demo_with: DemoWith, row: str, column: str, words: str
) -> None:
    heading = "finding,kind,then job,then quantity,then tier,then instead of"
    found = demo_with(("remedies.csv", "", f"hit policy,collect\neach,findings\n{heading}\n{row}\n"))
    met = {(p.file, p.row, p.column) for p in found if words in p.sentence}
    assert ("remedies.csv", 4, column) in met, [str(problem) for problem in found]


def test_remedies_may_read_the_pin_and_the_severity_of_their_finding(demo_with: DemoWith) -> None:
    rows = '"""hole""","""work""","""dent""",hole-patch,count,playable\n'
    heading = "finding,severity,kind,then job,then quantity,then tier"
    found = demo_with(("remedies.csv", "", f"hit policy,collect\neach,findings\n{heading}\n{rows}"))
    assert not [problem for problem in found if problem.file == "remedies.csv"], found


@pytest.mark.parametrize("file", ["targets.csv", "defaults.csv"])
def test_a_family_that_no_row_covers_is_found(demo_with: DemoWith, file: str) -> None:
    text = (DEMO / file).read_text("utf-8")
    lines = text.splitlines(keepends=True)
    fewer = "".join(line for line in lines if not line.startswith("banjo,"))
    found = {(p.file, p.column, p.sentence) for p in demo_with((file, text, fewer))}
    assert (file, "family", "No row covers family banjo.") in found
