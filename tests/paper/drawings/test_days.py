"""The plan by day: every stretch lies on the axis, in its job's row, whatever the calendar holds."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from intake.i18n import translations
from intake.i18n.formats import locale_for
from intake.paper.drawings.days import A_PAGE, LEFT, RIGHT, days_drawings
from intake.paper.formats import Formats
from intake.quoting.model import Stretch

FORMATS = Formats(locale_for("en", "en_US"), "en_US", "USD", translations("en"))
START = datetime(2026, 12, 2, 10)


def bars(drawing: str, kind: str) -> list[tuple[float, float]]:
    """x and width of each bar of that class."""
    found = re.findall(rf'<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)"[^>]* class="{kind}"', drawing)
    return [(float(x), float(width)) for x, width in found]


@given(
    stretches=st.lists(
        st.tuples(st.integers(0, 3), st.sampled_from(["work", "glue", "settle"]), st.integers(0, 9000),
                  st.integers(1, 3000)),
        min_size=1, max_size=12,
    )
)  # fmt: skip
def test_every_stretch_is_drawn_once_and_on_the_axis(stretches: list[tuple[int, str, int, int]]) -> None:
    schedule = [
        Stretch(f"job-{job}", kind, START + timedelta(hours=begin), START + timedelta(hours=begin + long))
        for job, kind, begin, long in stretches
    ]
    names = {f"job-{n}": f"{n}. Job" for n in range(4)}
    (drawing,) = days_drawings(schedule, names, lambda day: day.weekday() < 5, FORMATS)
    work, waits = bars(drawing, "work"), bars(drawing, "wait")
    assert len(work) == sum(kind == "work" for _, kind, _, _ in stretches)
    assert len(work) + len(waits) == len(stretches)
    assert all(x >= LEFT and x + wide <= RIGHT + 3 for x, wide in work + waits)


def test_days_stand_in_order_and_closed_ones_are_shaded() -> None:
    schedule = [
        Stretch("a", "work", START, START + timedelta(hours=2)),
        Stretch("b", "work", START + timedelta(days=6), START + timedelta(days=6, hours=2)),
    ]
    (drawing,) = days_drawings(schedule, {"a": "1. A", "b": "2. B"}, lambda day: day.weekday() < 5, FORMATS)
    (first, _), (second, _) = bars(drawing, "work")
    day = (RIGHT - LEFT) / 7
    assert abs(second - first - 6 * day) < 0.01
    assert [round((x - LEFT) / day) for x, _ in bars(drawing, "closed")] == [3, 4]  # Saturday and Sunday


def test_many_jobs_are_drawn_on_several_sheets_with_one_axis() -> None:
    schedule = [
        Stretch(f"j{n}", "work", START + timedelta(hours=n), START + timedelta(hours=n + 1))
        for n in range(A_PAGE + 2)
    ]
    names = {f"j{n}": f"{n}. {'long ' * 20}" for n in range(A_PAGE + 2)}
    drawings = days_drawings(schedule, names, lambda day: True, FORMATS)
    assert [len(bars(each, "work")) for each in drawings] == [A_PAGE, 2]
    assert drawings[1].count("…") == 2


def test_without_a_plan_there_is_no_drawing() -> None:
    assert days_drawings([], {"a": "1. A"}, lambda day: True, FORMATS) == []
