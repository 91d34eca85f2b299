"""Decision tables: hit policies, missing facts, lists, items, units; against a plain reading of the rules."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.book.files.load import load_table
from intake.book.problems import BookError
from intake.book.sfeel import parse_tests
from intake.book.tables import Column, Row, Table, TableError

WriteTable = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> WriteTable:
    def write(text: str, name: str = "t.csv") -> Path:
        (tmp_path / name).write_bytes(text.encode("utf-8"))
        return tmp_path / name

    return write


def table(policy: str, *rows: tuple[str, ...], ids: tuple[str, ...] = ("relief", "rod")) -> Table:
    columns = tuple(Column(id, "", id) for id in ids)
    made = (Row(at, tuple(map(parse_tests, row)), {"n": str(at)}) for at, row in enumerate(rows, 3))
    return Table("t", "t.csv", policy, "", columns, (), tuple(made))  # type: ignore[arg-type]


def rows_of(made: Table, facts: dict[str, Any], item: dict[str, Any] | None = None) -> list[int]:
    return [hit.row for hit in made.evaluate(facts, item)]


HIGH = {"relief": Fraction("0.02"), "rod": "one_way"}


def test_collect_gives_every_row_first_only_the_first() -> None:
    rows = ((">0.01", "-"), ("-", '"one_way"'), ("<0.01", "-"))
    assert rows_of(table("collect", *rows), HIGH) == [1, 2]
    assert rows_of(table("first", *rows), HIGH) == [1]


def test_unique_refuses_two_rows_and_names_them_as_a_spreadsheet_counts() -> None:
    with pytest.raises(TableError, match="rows 3, 4"):
        table("unique", (">0.01", "-"), ("-", '"one_way"')).evaluate(HIGH)


@pytest.mark.parametrize("policy", ["unique", "first", "collect"])
def test_without_a_match_a_table_gives_nothing(policy: str) -> None:
    assert table(policy, ("<0.01", "-")).evaluate(HIGH) == []


def test_a_missing_fact_keeps_out_the_rows_that_test_it_even_by_not() -> None:
    made = table("collect", (">0.01", "-"), ("not(>0.01)", "-"), ("-", '"one_way"'))
    assert rows_of(made, {"rod": "one_way"}) == [3]


def test_a_hit_says_what_it_tested() -> None:
    (hit,) = table("first", ("[0.01..0.03]", "-")).evaluate(HIGH)
    assert {id: tests.text for id, tests in hit.tested.items()} == {"relief": "[0.01..0.03]"}
    assert (hit.row, hit.line) == (1, 3)


def test_an_item_is_read_before_the_facts_and_a_member_inside_its_map() -> None:
    made = table("collect", ('"crack"', "-"), ("-", '"original"'), ids=("kind", "original.bridge"))
    facts = {"kind": "brace", "original": {"bridge": "original"}}
    assert rows_of(made, facts) == [2]
    assert rows_of(made, facts, {"kind": "crack"}) == [1, 2]


def test_two_columns_on_one_fact_both_hold() -> None:
    made = table("collect", (">0.01", "<0.03"), (">0.01", "<0.015"), ids=("relief", "relief"))
    assert rows_of(made, HIGH) == [1]


def test_no_binary_floating_point_is_compared() -> None:
    with pytest.raises(TypeError):
        table("first", (">0.01", "-")).evaluate({"relief": 0.02})


cells = st.sampled_from(("-", "<1", "[1..2]", "not(2)", "3", '"a"', 'not("a","b")', "true", "not(true)"))
values = st.one_of(
    st.integers(0, 3).map(Fraction),
    st.sampled_from(("a", "b", "c", True, False, None)),
    st.lists(st.sampled_from(("a", "b", Fraction(2))), max_size=2).map(tuple),
)


@given(st.lists(st.tuples(cells, cells), min_size=1, max_size=8), values, values)
def test_the_compiled_table_is_what_its_cells_say(rows: list[tuple[str, str]], one: Any, other: Any) -> None:
    facts = {id: value for id, value in (("relief", one), ("rod", other)) if value is not None}
    plain = [
        number
        for number, (left, right) in enumerate(rows, 1)
        if parse_tests(left).holds(one) and parse_tests(right).holds(other)
    ]
    assert rows_of(table("collect", *rows), facts) == plain
    assert rows_of(table("first", *rows), facts) == plain[:1]


FILE = "hit policy,first\nrelief [mm],rod,then wanted [in],then job,then says,then says [fr],note\n"


def test_a_heading_in_another_unit_is_converted_exactly(write: WriteTable) -> None:
    made = load_table(write(FILE + ">0.254,-,0.010,x,Bent.,Courbe.,\n"), {"relief": "in"})
    assert made.inputs[0].unit == "in"
    assert made.evaluate({"relief": Fraction("0.010")}) == []
    (hit,) = made.evaluate({"relief": Fraction("0.0100000001")})
    assert hit.outputs == {"wanted": Fraction("0.010"), "job": "x", "says": {"en": "Bent.", "fr": "Courbe."}}


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_files_as_spreadsheets_write_them(write: WriteTable, separator: str, end: str, mark: str) -> None:
    lines = ["hit policy,collect,", "rod,then job,note", '"""one_way""",rod-adjust,', ",,", "-,setup,"]
    made = load_table(write(mark + end.join(lines).replace(",", separator) + end))
    assert rows_of(made, {"rod": "one_way"}) == [1, 2]
    assert [row.line for row in made.rows] == [3, 5]


FAULTS = {
    "no policy": ("relief,then job\n-,x\n", 1, "hit policy", "hit policy,unique"),
    "strange policy": ("hit policy,any\nrelief,then job\n-,x\n", 1, "hit policy", "“any”"),
    "strange each": ("hit policy,first\neach,strings\nrelief,then job\n-,x\n", 2, "each", "“strings”"),
    "no headings": ("hit policy,first\n", None, "", "headings"),
    "no output": ("hit policy,first\nrelief\n-\n", 2, "", "then"),
    "empty cell": ("hit policy,first\nrelief [in],then job\n,x\n", 3, "relief [in]", "write -"),
    "no test": ("hit policy,first\nrelief [in],then job\n0.03O,x\n", 3, "relief [in]", "0.03O"),
    "two bare words": ("hit policy,first\nrod,then job\none way,x\n", 3, "rod", "double quotes"),
    "wrong unit": ("hit policy,first\nrelief [F],then job\n-,x\n", 2, "relief [F]", "cannot be converted"),
    "no number": ("hit policy,first\nrod,then wanted [in]\n-,high\n", 3, "then wanted [in]", "“high”"),
    "twice": ("hit policy,first\nrod,rod,then job\n-,-,x\n", 2, "rod", "twice"),
    "too wide": ("hit policy,first\nrod,then job\n-,x,y\n", 3, "", "more cells"),
    "only French": ("hit policy,first\nrod,then says,then says [fr]\n-,,Oui\n", 3, "then says", "English"),
    "open quote": ('hit policy,first\nrod,then job\n-,"x\n', None, "", "CSV"),
}


@pytest.mark.parametrize(("text", "row", "column", "words"), FAULTS.values(), ids=FAULTS)
def test_a_faulty_file_is_named_by_row_and_column(
    write: WriteTable, text: str, row: int | None, column: str, words: str
) -> None:
    with pytest.raises(BookError) as refused:
        load_table(write(text), {"relief": "in"})
    found = [(p.row, p.column) for p in refused.value.problems if words in p.sentence]
    assert (row, column) in found, [str(problem) for problem in refused.value.problems]


def test_all_faults_are_named_at_once(write: WriteTable) -> None:
    with pytest.raises(BookError) as refused:
        load_table(write("hit policy,first\nrelief,rod,then job\n<,very high,x\n,-,y\n"))
    assert [(p.row, p.column) for p in refused.value.problems] == [(3, "relief"), (3, "rod"), (4, "relief")]


def test_a_file_that_is_not_utf8_is_said_to_be_so(tmp_path: Path) -> None:
    (tmp_path / "t.csv").write_bytes("hit policy,first\nrod,then says\n-,caf\xe9\n".encode("latin-1"))
    with pytest.raises(BookError, match="UTF-8"):
        load_table(tmp_path / "t.csv")
