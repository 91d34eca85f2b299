"""The checker finds each kind of fault, planted in a copy of the demo book, with file, row and column."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from intake.book.checks.run import check_book
from intake.book.files.load import load_book
from intake.book.problems import BookError, Problem

DEMO = Path(__file__).parents[3] / "pricing_demo"
Rows = list[list[str]]


def test_the_demo_book_is_clean() -> None:
    assert check_book(load_book(DEMO)) == []


def planted(folder: Path, file: str, change: Callable[[Rows], None]) -> list[Problem]:
    copy = folder / "book"
    shutil.copytree(DEMO, copy, ignore=shutil.ignore_patterns("walkins"))
    path = copy / file
    with path.open(encoding="utf-8", newline="") as opened:
        rows = list(csv.reader(opened))
    change(rows)
    with path.open("w", encoding="utf-8", newline="") as opened:
        csv.writer(opened, lineterminator="\n").writerows(rows)
    return found_in(copy)


def found_in(folder: Path) -> list[Problem]:
    """What the command line would print: what keeps the book from loading, else what the checker finds."""
    try:
        return check_book(load_book(folder))
    except BookError as error:
        return error.problems


def cell(row: int, heading: str, value: str, headings: int = 0) -> Callable[[Rows], None]:
    """Write one cell: `row` from 0 under the line of headings, which is line `headings` of the file."""

    def change(rows: Rows) -> None:
        line = rows[headings + 1 + row]
        line[rows[headings].index(heading)] = value

    return change


def silence(row: int) -> Callable[[Rows], None]:
    def change(rows: Rows) -> None:
        cell(row, "then says", "", 1)(rows)
        cell(row, "then says [fr]", "", 1)(rows)

    return change


def job(id: str, heading: str, value: str) -> Callable[[Rows], None]:
    def change(rows: Rows) -> None:
        line = next(line for line in rows if line[0] == id)
        line[rows[0].index(heading)] = value

    return change


def new_job(**cells: str) -> Callable[[Rows], None]:
    def change(rows: Rows) -> None:
        model = next(line for line in rows if line[0] == "clean-and-oil")
        rows.append([cells.get(heading, old) for heading, old in zip(rows[0], model, strict=True)])

    return change


def drop(row: int) -> Callable[[Rows], None]:
    return lambda rows: rows.pop(row)


def insert(row: int, *cells: str) -> Callable[[Rows], None]:
    def change(rows: Rows) -> None:
        rows.insert(row, [*cells, *[""] * (len(rows[row]) - len(cells))])

    return change


def add_output(heading: str, value: str) -> Callable[[Rows], None]:
    """A new last column with a value in the first rule of a table whose headings are line 1."""

    def change(rows: Rows) -> None:
        rows[1].append(heading)
        rows[2].append(value)

    return change


RELIEF = "tables/relief.csv"
JOBS = "jobs.csv"
ORDER = "order.csv"
REMEDIES = "remedies.csv"
ANY_RELIEF = ("-", "-", "-", "-", "-")
FAULTS = {
    "gap": (RELIEF, drop(4), None, "rod", "relief_over -0.001 in, rod one_way"),
    "shadowed row": (
        RELIEF,
        insert(3, *ANY_RELIEF, "relief_good", "fine", "Relief is fine.", "Le galbe est bon."),
        5,
        "",
        "rows above cover this one",
    ),
    "contradiction": (RELIEF, cell(2, "relief_over [in]", ">99", 1), 5, "relief_over [in]", "No value of"),
    "stranger in a cell": (RELIEF, cell(3, "rod", '"three_way"', 1), 6, "rod", "“three_way” is not a value"),
    "unknown column": (RELIEF, cell(-1, "rod", "rodd", 1), None, "rodd", "is “rod” meant?"),
    "unknown severity": (RELIEF, cell(3, "then severity", "grave", 1), 6, "then severity", "“grave”"),
    "no sentence": (RELIEF, silence(3), 6, "then says", "no sentence"),
    "no remedy": (RELIEF, cell(3, "then finding", "relief_wild", 1), 6, "then finding", "asks for work"),
    "unknown placeholder": (RELIEF, cell(3, "then says", "It is {releif}.", 1), 6, "then says", "“relief”"),
    "limit of no cell": (
        RELIEF,
        cell(1, "then says", "Under {relief limit}.", 1),
        4,
        "then says",
        "does not test relief",
    ),
    "no translation": (RELIEF, cell(3, "then says [fr]", "", 1), 6, "then says [fr]", "language"),
    "too long": (RELIEF, cell(3, "then says", "x" * 500, 1), 6, "then says", "500 characters"),
    "unknown job": (REMEDIES, cell(0, "then job", "bench-asessment", 2), 4, "then job", "bench-assessment"),
    "unknown tier": (REMEDIES, cell(0, "then tier", "cheap", 2), 4, "then tier", "“cheap”"),
    "unknown finding": (REMEDIES, cell(0, "finding", '"bench_lok"', 2), 4, "finding", "“bench_lok”"),
    "unknown quantity": (
        REMEDIES,
        cell(0, "then quantity", "frets_bellow", 2),
        4,
        "then quantity",
        "“frets_bellow”",
    ),
    "hours out of order": (JOBS, job("setup", "quick", "9"), None, "usual", "quick may not be more"),
    "absurd hours": (JOBS, job("setup", "slow", "150"), None, "slow", "decimal point"),
    "negative price": (JOBS, job("setup", "price", "-5"), None, "price", "not negative"),
    "circle": (ORDER, job("humidify", "after", "setup"), None, "after", "circle"),
    "after a later stage": (
        ORDER,
        job("inside-inspection", "after", "clean-and-oil"),
        None,
        "after",
        "stage",
    ),
    "unknown id in a job": (ORDER, job("setup", "after", "fret-level"), None, "after", "“fret-level”"),
    "unknown operation": (JOBS, job("setup", "operations", "tea"), None, "operations", "“tea”"),
    "never recommended": (JOBS, new_job(id="tea-break"), None, "id", "Nothing ever recommends"),
    "name too long": (JOBS, job("setup", "name", "S" * 80), None, "name", "80 characters"),
    "no French in factors": ("factors.csv", cell(0, "then why [fr]", "", 2), 4, "then why [fr]", "language"),
    "limit outside the question": (
        RELIEF,
        cell(2, "relief_over [in]", ">0,>99", 1),
        5,
        "relief_over [in]",
        ">99",
    ),
    "unit unseen": (RELIEF, cell(-1, "relief [in]", "relief", 1), None, "relief", "write relief [in]"),
    "useless default": (
        "defaults.csv",
        cell(-1, "then default_spread [in]", "then default_spraed [in]", 1),
        None,
        "then default_spraed [in]",
        "Nothing uses",
    ),
    "target of a reading": (
        "targets.csv",
        cell(-1, "style", "relief_over", 1),
        None,
        "relief_over",
        "not known yet",
    ),
    "no finding": (RELIEF, cell(3, "then finding", "", 1), 6, "then finding", "gives no finding"),
    "no job": (REMEDIES, cell(0, "then job", "", 2), 4, "then job", "gives no job"),
    "no tier": (REMEDIES, cell(0, "then tier", "", 2), 4, "then tier", "gives no tier"),
    "nothing wanted": (REMEDIES, cell(0, "then quantity", "0", 2), 4, "then quantity", "above 0"),
    "factor of nothing": ("factors.csv", cell(0, "then factor", "0", 2), 4, "then factor", "above 0"),
    "wait of nothing": ("factors.csv", cell(0, "then wait", "soon", 2), 4, "then wait", "24 h or 10 d"),
    "unknown job in factors": ("factors.csv", cell(0, "job", '"set-up"', 2), 4, "job", "“set-up”"),
    "unknown part": (
        "fitting.csv",
        cell(0, "then part", "strings-stel", 2),
        4,
        "then part",
        "“strings-steel”",
    ),
    "fitting by a fact": (
        "fitting.csv",
        cell(0, "then quantity", "string_count", 2),
        4,
        "then quantity",
        "number",
    ),
    "no weight": ("strings.csv", cell(0, "unit_weight", "0"), 2, "unit_weight", "above 0"),
    "no density": ("woods.csv", cell(1, "density", "heavy"), 3, "density", "“heavy”"),
    "held by nobody": (RELIEF, add_output("then holds", "nekc"), 3, "then holds", "“neck”"),
    "no French name": (JOBS, job("setup", "name [fr]", ""), None, "name [fr]", "language"),
}


@pytest.mark.parametrize(("file", "change", "row", "column", "words"), FAULTS.values(), ids=FAULTS)
def test_a_planted_fault_is_found(
    tmp_path: Path, file: str, change: Callable[[Rows], None], row: int | None, column: str, words: str
) -> None:
    found = planted(tmp_path, file, change)
    met = [
        problem
        for problem in found
        if problem.file == file and problem.column == column and words in problem.sentence
    ]
    assert met, [str(problem) for problem in found]
    if row is not None:
        assert row in {problem.row for problem in met}
    elif file == JOBS:
        assert all(problem.row for problem in met)


def test_an_overlap_is_found_with_an_example(tmp_path: Path) -> None:
    def change(rows: Rows) -> None:
        rows[0][1] = "unique"

    found = planted(tmp_path, RELIEF, change)
    assert any("both apply to" in problem.sentence and problem.row for problem in found)


def test_a_reading_that_the_book_cannot_compute_is_named_with_what_it_lacks(tmp_path: Path) -> None:
    copy = tmp_path / "book"
    shutil.copytree(DEMO, copy, ignore=shutil.ignore_patterns("walkins"))
    path = copy / "targets.csv"
    path.write_text(
        path.read_text("utf-8").replace("then relief_high [in]", "then relief_hihg [in]"), "utf-8"
    )
    sentences = [p.sentence for p in found_in(copy) if p.column == "relief_over [in]"]
    assert any(
        "relief_over is never computed: the book has no relief_high" in sentence for sentence in sentences
    )


def test_a_table_that_explodes_is_said_to_be_undecided(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("intake.book.partition.MOST_STATES", 1)
    monkeypatch.setattr("intake.book.checks.tables._last", {})
    found = check_book(load_book(DEMO))
    assert any("more combinations than can be gone through" in problem.sentence for problem in found)


def test_a_question_that_nothing_uses_is_found(tmp_path: Path) -> None:
    copy = tmp_path / "book"
    shutil.copytree(DEMO, copy, ignore=shutil.ignore_patterns("walkins"))
    path = copy / "checklist.toml"
    question = (
        '\n[[question]]\nid = "tea"\nstep = "neck"\nkind = "yes_no"\nlabel = "Tea?"\n"label [fr]" = "Thé ?"\n'
    )
    path.write_text(path.read_text("utf-8") + question, "utf-8")
    found = check_book(load_book(copy))
    assert [(problem.column, problem.row is not None) for problem in found] == [("id", True)]
    assert "Nothing uses the answer" in found[0].sentence


def test_a_string_whose_weight_is_worked_out_needs_none(demo_with: Callable[..., list[Problem]]) -> None:
    line = next(line for line in (DEMO / "strings.csv").read_text("utf-8").splitlines() if ",plain," in line)
    *before, _weight, note = line.split(",")

    found = demo_with(("strings.csv", line, ",".join([*before, "", note])))

    assert found == []
