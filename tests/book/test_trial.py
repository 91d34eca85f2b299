"""One table tried on facts as JSON has them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from intake.book.tables import TableError
from intake.book.trial import try_table
from intake.trade.units import MeasureError

TABLE = """\
hit policy,collect
action [in],wood,signs,count,then finding,then extra [in],then says,then says [fr]
<=5/64,-,-,-,low,,Low.,Basse.
>5/64,-,-,-,high,1/32,High.,Haute.
-,\"""spruce\""",-,-,spruce,,,
-,-,\"not(""dry"")\",-,not_dry,2,,
-,-,-,>=2,two,,,
"""


def tried(folder: Path, text: str, inputs: dict[str, Any]) -> dict[str, Any]:
    path = folder / "t.csv"
    path.write_text(text, "utf-8")
    return try_table(path, inputs)


@pytest.mark.parametrize(
    ("inputs", "rows"),
    [
        ({"action": "5/64 in"}, [1]),
        ({"action": 0.078125}, [1]),
        ({"action": "0.0781250001"}, [2]),
        ({"action": "2 mm"}, [2]),
        ({"action": "1,98 mm"}, [1]),
        ({"wood": "spruce"}, [3]),
        ({"wood": ["cedar", "spruce"]}, [3]),
        ({"signs": ["wet"]}, [4]),
        ({"signs": ["wet", "dry"]}, []),
        ({"count": 2}, [5]),
        ({"count": "2"}, [5]),
        ({"count": None}, []),
        ({}, []),
    ],
)
def test_the_rows_that_fire(tmp_path: Path, inputs: dict[str, Any], rows: list[int]) -> None:
    assert tried(tmp_path, TABLE, inputs)["rows"] == rows


def test_what_they_give(tmp_path: Path) -> None:
    outputs = tried(tmp_path, TABLE, {"action": "6/64", "signs": ["none"]})["outputs"]
    assert outputs == [
        {"finding": "high", "extra": 0.03125, "says": "High.", "says [fr]": "Haute."},
        {"finding": "not_dry", "extra": 2},
    ]


def test_a_table_for_each_pin_runs_once_a_pin(tmp_path: Path) -> None:
    text = 'hit policy,first\neach,pins\nkind,size [in],rod,then job\n"""crack""",>4,"""none""",crack-cleat\n'
    pins = [{"kind": "crack", "size": "5 in"}, {"kind": "brace"}, {"kind": "crack", "size": "200 mm"}]
    assert tried(tmp_path, text, {"pins": pins, "rod": "none"})["rows"] == [1, 1]
    assert tried(tmp_path, text, {"kind": "crack", "size": 6, "rod": "none"})["rows"] == [1]


def test_two_rows_under_unique_and_a_wrong_unit_are_refused(tmp_path: Path) -> None:
    with pytest.raises(TableError):
        tried(tmp_path, "hit policy,unique\nrod,then job\n-,a\n-,b\n", {})
    with pytest.raises(MeasureError):
        tried(tmp_path, TABLE, {"action": "70 F"})
