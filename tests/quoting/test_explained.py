"""A table over findings: one row a cause, and one fact for what is explained."""

from __future__ import annotations

from dataclasses import replace

import pytest

from intake.book.text import Text
from intake.quoting.assess import find
from tests.memo import sample_book

OUTPUTS = ("finding", "severity", "explains", "says")


def rule(*cells: str, explains: str = "") -> tuple:
    *tests, finding = cells
    return (*tests, finding, "watch", explains, Text(en=f"{finding}."))


@pytest.fixture
def book(make):
    """A low slot or a worn fret explains a buzz; what nothing explains is looked for."""
    found = make.table(
        "found", ("place",), [rule('"slot"', "slot_low"), rule('"fret"', "fret_worn")], OUTPUTS
    )
    causes = make.table(
        "causes",
        ("finding",),
        [
            rule('"fret_worn"', "cause_fret", explains="buzz"),
            rule('"slot_low","fret_worn"', "cause_any", explains="buzz"),
        ],
        OUTPUTS,
    )
    left = make.table("left", ("explained.buzz",), [rule("false", "buzz_left")], OUTPUTS)
    tables = {"found": found, "causes": replace(causes, each="findings"), "left": left}
    return make.book([], tables=tables)


def test_what_a_finding_explains_is_a_fact_for_the_tables_after_it(book):
    slot = find(book, {"place": ("slot",)})
    nothing = find(book, {"place": ()})

    assert [finding.id for finding in slot] == ["slot_low", "cause_any"]
    assert [finding.id for finding in nothing] == ["buzz_left"]


def test_a_finding_of_several_causes_is_found_once_in_the_order_of_the_rows(book):
    findings = find(book, {"place": ("slot", "fret")})

    assert [finding.id for finding in findings] == ["slot_low", "fret_worn", "cause_fret", "cause_any"]


def test_a_table_over_findings_comes_after_those_that_give_them():
    book = sample_book()
    order = list(book.tables)

    causes = order.index("buzz")

    assert all(order.index(table) < causes for table in ("nut", "frets", "relief", "action_low"))
    assert causes < order.index("buzz_place") and causes < order.index("buzz_left")
    assert order.index("buzz_heights") < order.index("buzz_at") < order.index("buzz_left")


def test_a_cause_brings_the_evidence_of_its_finding_and_not_its_name(book):
    causes = find(book, {"place": ("fret",)})[1:]

    assert [finding.evidence for finding in causes] == [(), ()]
