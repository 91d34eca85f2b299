"""Faults in a table written beside the demo's own, each found in its cell."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from intake.book.problems import Problem

DemoWith = Callable[..., list[Problem]]
TABLE = "tables/zz.csv"
OUTPUTS = "then finding,then severity,then says,then says [fr]"
WATCH = "zz,watch,X.,X."


def written(heading: str, *rows: str, outputs: str = OUTPUTS, policy: str = "collect") -> str:
    return "\n".join([f"hit policy,{policy}", f"{heading},{outputs}", *rows]) + "\n"


TABLES = {
    "two columns of one fact": (
        written("relief [in],relief [mm]", f"<0.001,>2,{WATCH}"),
        3,
        "",
        "never hold together",
    ),
    "three choices for two": (
        written("rod", f'"""one_way"",""oneway""",{WATCH}'),
        3,
        "rod",
        "“oneway” is not a value",
    ),
    "a word for a truth": (written("mains_gear", f'"""yes""",{WATCH}'), 3, "mains_gear", "“yes”"),
    "beyond what is accepted": (
        written("relief [in]", f">0.3,{WATCH}"),
        3,
        "relief [in]",
        "No value of relief",
    ),
    "half a string": (written("string_count", f"6.5,{WATCH}"), 3, "string_count", "No value of string_count"),
    "an answer that is never asked for": (
        written("rod,rod_state", f'"""none""","""works""",{WATCH}'),
        3,
        "",
        "never hold together",
    ),
    "no such member": (
        written("original.brigde", f'"""original""",{WATCH}'),
        None,
        "original.brigde",
        "is “original.bridge” meant?",
    ),
    "no such member in words": (
        written("rod", '"""none""",zz,watch,{original.brigde}.,X.'),
        3,
        "then says",
        "“original.brigde”",
    ),
    "a member of no map": (
        written("rod", '"""none""",zz,watch,{relief.x}.,X.'),
        3,
        "then says",
        "“relief.x”",
    ),
    "no such field": (
        "hit policy,collect\neach,pins\n" + written("patr", f'"""top""",{WATCH}').split("\n", 1)[1],
        None,
        "patr",
        "is “part” meant?",
    ),
    "a field without a pin": (written("rod", '"""none""",zz,watch,A {kind}.,X.'), 3, "then says", "“kind”"),
    "no such finding": (
        written("finding.relief_hihg", f"true,{WATCH}"),
        None,
        "finding.relief_hihg",
        "is “finding.relief_high” meant?",
    ),
    "after the offers": (written("worth_share", f">0.5,{WATCH}"), None, "worth_share", "from the offers"),
    "French alone": (written("rod", '"""none""",zz,watch,,X.'), 3, "then says", "no English"),
    "caution in French alone": (
        written("rod", f'"""none""",{WATCH},,Y.', outputs=f"{OUTPUTS},then caution,then caution [fr]"),
        3,
        "then caution",
        "no English",
    ),
    "a brace left over": (
        written("rod", '"""none""",zz,watch,{rod limits}.,X.'),
        3,
        "then says",
        "“{rod limits}”",
    ),
    "a brace without its other": (
        written("rod", '"""none""",zz,watch,X.,{rod.'),
        3,
        "then says [fr]",
        "“{rod.”",
    ),
    "a stop that stops nothing": (
        written("rod", '"""none""",zz,stop,X.,X.'),
        3,
        "then finding",
        "stops nothing",
    ),
    "after there are findings": (
        "hit policy,collect\neach,jobs\n" + written("job", f'"""setup""",{WATCH}').split("\n", 1)[1],
        None,
        "each",
        "come later",
    ),
    "over findings without their names": (
        "hit policy,collect\neach,findings\n" + written("severity", f'"""stop""",{WATCH}').split("\n", 1)[1],
        4,
        "finding",
        "lists no finding",
    ),
    "a cause of nothing": (
        written("explained.bzuz", f"true,{WATCH}"),
        None,
        "explained.bzuz",
        "is “explained.buzz” meant?",
    ),
    "an overlap": (
        written("relief [in],rod", f"<0.010,-,{WATCH}", f'>=0.009,"""none""",{WATCH}', policy="unique"),
        4,
        "rod",
        "Rows 3 and 4 both apply to relief 0.009 in, rod none.",
    ),
    "a gap between": (
        written("relief [in]", f"<0.010,{WATCH}", f">0.010,{WATCH}", policy="unique"),
        None,
        "relief [in]",
        "No row covers relief 0.01 in.",
    ),
    "never reached": (
        written(
            "rod",
            f'"""none"",""fixed_bar""",{WATCH}',
            f'"not(""none"")",{WATCH}',
            f'"""fixed_bar""",{WATCH}',
            f"-,{WATCH}",
            policy="first",
        ),
        5,
        "",
        "rows above cover this one",
    ),
}


@pytest.mark.parametrize(("table", "row", "column", "words"), TABLES.values(), ids=TABLES)
def test_a_fault_in_a_table_is_found_in_its_cell(
    demo_with: DemoWith, table: str, row: int | None, column: str, words: str
) -> None:
    found = demo_with((TABLE, "", table))
    met = {(p.file, p.row, p.column) for p in found if words in p.sentence}
    assert (TABLE, row, column) in met, [str(problem) for problem in found]


def test_a_table_in_which_nothing_is_wrong_is_left_alone(demo_with: DemoWith) -> None:
    sound = written(
        "relief [in],fret_wear [in],original.bridge",
        "<0.010,-,-,zz,watch,{relief} under {relief limit}; {fret_wear.3},X.",
        '>=0.010,<0.001,"not(""original"")",zz,watch,{original.bridge},X.',
        f"-,-,-,{WATCH}",
        policy="first",
    )
    assert demo_with((TABLE, "", sound)) == []


def test_of_very_many_overlaps_the_first_are_shown_and_the_rest_is_said(demo_with: DemoWith) -> None:
    found = demo_with((TABLE, "", written("rod", *[f"-,{WATCH}"] * 7, policy="unique")))
    assert [p.sentence[:5] for p in found] == ["Rows "] * 12 + ["Still", "No ro"]
    few = demo_with((TABLE, "", written("rod", *[f"-,{WATCH}"] * 4, policy="unique")))
    assert [p.sentence[:5] for p in few] == ["Rows "] * 6 + ["No ro"]
