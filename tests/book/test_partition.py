"""The exact verdict on gaps, overlaps and dead rows against brute force on small random tables."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations as combinations_of
from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from intake.book.grid import Grid, grid_of
from intake.book.partition import Domain
from intake.book.sfeel import UnaryTests, parse_tests
from intake.book.tables import Column, Row, Table

WOODS = ("spruce", "cedar", "maple")
DOMAINS = {
    "wood": Domain(values=WOODS),
    "loose": Domain(values=(False, True)),
    "count": Domain(numbers=True, low=Fraction(0), high=Fraction(4), whole=True),
    "signs": Domain(values=("none", "dry", "wet"), many=True),
}
VALUES = {
    "wood": WOODS,
    "loose": (False, True),
    "count": tuple(Fraction(n) for n in range(5)),
    "signs": (("none",), ("dry",), ("wet",), ("dry", "wet")),
}
words = st.lists(st.sampled_from(WOODS), min_size=1, max_size=2, unique=True).map(
    lambda chosen: ",".join(f'"{word}"' for word in chosen)
)
signs = st.lists(st.sampled_from(("none", "dry", "wet")), min_size=1, max_size=2, unique=True).map(
    lambda chosen: ",".join(f'"{word}"' for word in chosen)
)
numbers = st.one_of(
    st.builds(lambda sign, n: f"{sign}{n}", st.sampled_from(("<", "<=", ">", ">=", "")), st.integers(0, 4)),
    st.builds(
        lambda left, a, b, right: f"{left}{min(a, b)}..{max(a, b) + 1}{right}",
        st.sampled_from("[("),
        st.integers(0, 3),
        st.integers(0, 3),
        st.sampled_from("])"),
    ),
)
CELLS = {
    "wood": st.one_of(st.just("-"), words, words.map(lambda text: f"not({text})")),
    "loose": st.sampled_from(("-", "true", "false")),
    "count": st.one_of(st.just("-"), numbers, numbers.map(lambda text: f"not({text})")),
    "signs": st.one_of(st.just("-"), signs, signs.map(lambda text: f"not({text})")),
}
cells = st.tuples(*(CELLS[id] for id in VALUES))


def table_of(rows: list[tuple[str, ...]]) -> Table:
    columns = tuple(Column(id, "", id) for id in VALUES)
    made = tuple(Row(line, tuple(map(parse_tests, row)), {}) for line, row in enumerate(rows, 3))
    return Table("random", "random.csv", "first", "", columns, (), made)


def rows_that_hold(table: Table, combination: tuple[object, ...]) -> list[int]:
    return [
        number
        for number, row in enumerate(table.rows)
        if all(_holds(tests, value) for tests, value in zip(row.tests, combination, strict=True))
    ]


def _holds(tests: UnaryTests, value: object) -> bool:
    return tests.is_any if value is None else tests.holds(value)


def combinations(missing: bool) -> list[tuple[object, ...]]:
    return list(product(*(((*values, None) if missing else values) for values in VALUES.values())))


def grid(table: Table) -> Grid:
    return grid_of(table, DOMAINS)


@given(st.lists(cells, min_size=1, max_size=6))
def test_a_gap_is_found_exactly_when_there_is_one(rows: list[tuple[str, ...]]) -> None:
    table = table_of(rows)
    bare = [each for each in combinations(missing=False) if not rows_that_hold(table, each)]
    found = grid(table)
    gaps = list(found.gaps())
    assert bool(gaps) == bool(bare)
    for gap in gaps:
        example = found.example(gap)
        if len(example) == len(VALUES):
            assert not rows_that_hold(table, tuple(example[id] for id in VALUES))


@given(st.lists(cells, min_size=2, max_size=5))
def test_overlapping_rows_are_exactly_those_that_hold_together(rows: list[tuple[str, ...]]) -> None:
    table = table_of(rows)
    together = set()
    for each in combinations(missing=True):
        held = rows_that_hold(table, each)
        together |= {(a, b) for a in held for b in held if a < b}
    assert {(a, b) for a, b, _ in grid(table).overlaps()} == together


@given(st.lists(cells, min_size=2, max_size=6))
def test_shadowed_rows_are_exactly_those_that_never_come_first(rows: list[tuple[str, ...]]) -> None:
    table = table_of(rows)
    firsts, ever = set(), set()
    for each in combinations(missing=True):
        held = rows_that_hold(table, each)
        ever |= set(held)
        firsts |= set(held[:1])
    assert set(grid(table).shadowed()) == ever - firsts


@given(st.lists(st.tuples(CELLS["count"], CELLS["count"], CELLS["signs"]), min_size=1, max_size=5))
def test_rows_that_never_happen_are_exactly_those_that_nothing_satisfies(
    rows: list[tuple[str, ...]],
) -> None:
    """Two columns test the same fact, as in inches and in millimetres, and may contradict each other."""
    columns = tuple(Column(id, "", id) for id in ("count", "count", "signs"))
    made = tuple(Row(line, tuple(map(parse_tests, row)), {}) for line, row in enumerate(rows, 3))
    ever = {
        number
        for number, row in enumerate(made)
        for count, signs in product((*VALUES["count"], None), (*VALUES["signs"], None))
        if all(_holds(tests, value) for tests, value in zip(row.tests, (count, count, signs), strict=True))
    }
    table = Table("twice", "twice.csv", "collect", "", columns, (), made)
    assert set(grid(table).never_happening()) == set(range(len(made))) - ever


REAL = {
    "height": Domain(numbers=True),
    "drop": Domain(numbers=True, low=Fraction(0), high=Fraction(4)),
    "wear": Domain(numbers=True, low=Fraction(0), many=True, or_none=True),
}
HALVES = tuple(Fraction(n, 2) for n in range(-2, 13))
WEAR = HALVES[2:12]
POINTS = {
    "height": HALVES,
    "drop": HALVES[2:11],
    "wear": (
        ("none",),
        *(items for size in range(1, len(WEAR) + 1) for items in combinations_of(WEAR, size)),
    ),
}
real_cell = st.one_of(st.just("-"), numbers, numbers.map(lambda text: f"not({text})"))
real_rows = st.lists(
    st.tuples(
        real_cell, real_cell, st.one_of(real_cell, st.sampled_from(('"none"', 'not("none")', '"none",<2')))
    ),
    min_size=1,
    max_size=5,
)


@given(real_rows)
def test_the_real_line_open_ends_and_lists_of_measures_are_exact(rows: list[tuple[str, ...]]) -> None:
    """The ends are whole numbers up to 4, so halves up to 4 1/2 stand for every number."""
    columns = tuple(Column(id, "", id) for id in REAL)
    made = tuple(Row(line, tuple(map(parse_tests, row)), {}) for line, row in enumerate(rows, 3))
    found = grid_of(Table("real", "real.csv", "unique", "", columns, (), made), REAL)
    met = [
        {tuple(cell.holds(value) for cell in map(parse_tests, column)) for value in values}
        for column, values in zip(zip(*rows, strict=True), POINTS.values(), strict=True)
    ]
    bare = any(not any(map(all, zip(*patterns, strict=True))) for patterns in product(*met))
    assert bool(list(found.gaps())) == bare
    together = {
        (a, b)
        for patterns in product(*met)
        for held in [[n for n, cells in enumerate(zip(*patterns, strict=True)) if all(cells)]]
        for a in held
        for b in held
        if a < b
    }
    assert {(a, b) for a, b, _ in found.overlaps()} == together


def test_an_answer_to_a_question_that_is_not_asked_is_no_gap_and_never_fires() -> None:
    domains = {"rod": Domain(values=("none", "one_way")), "rod_state": Domain(values=("works", "stuck"))}
    columns = tuple(Column(id, "", id) for id in domains)
    rows = (('"one_way"', '"works"'), ('"one_way"', '"stuck"'), ('"none"', '"stuck"'), ('"none"', "-"))
    made = tuple(Row(line, tuple(map(parse_tests, row)), {}) for line, row in enumerate(rows, 3))
    table = Table("rod", "rod.csv", "first", "", columns, (), made[:3])
    asked = {"rod_state": {"rod": lambda value: value == "one_way"}}
    assert list(grid_of(table, domains).gaps()) and not list(grid_of(table, domains, asked).gaps())
    assert list(grid_of(table, domains, asked).never_happening()) == [2]
    last = Table("rod", "rod.csv", "first", "", columns, (), made)
    assert list(grid_of(last, domains, asked).shadowed()) == [], "without the answer, the last row fires"
