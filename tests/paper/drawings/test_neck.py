"""The neck drawing follows the numbers."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction as F
from types import SimpleNamespace
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from intake.i18n import translations
from intake.i18n.formats import locale_for
from intake.paper.drawings import neck
from intake.paper.formats import Formats
from intake.trade.neck import height_over_plane_at_saddle

FORMATS = Formats(locale_for("en", "en_US"), "en_US", "USD", translations("en"))
SVG = "{http://www.w3.org/2000/svg}"
BASE: dict[str, Any] = {
    "scale_length": F("25.4"), "join_fret": F(14), "fret_count": F(20), "relief": F("0.008"),
    "action_bass_12": F(8, 64), "action_treble_12": F(6, 64), "nut_bass_1": F("0.02"),
    "nut_treble_1": F("0.015"), "saddle_showing": F(1, 8),
}  # fmt: skip
heights = st.fractions(min_value=F(1, 32), max_value=F(5, 32), max_denominator=256)


def drawn(facts: dict[str, Any], outcome: Mapping[str, F] = {}) -> ElementTree.Element:
    return ElementTree.fromstring(str(neck.neck_drawing(facts, FORMATS, outcome)))


def part(root: ElementTree.Element, name: str) -> list[dict[str, str]]:
    return [found.attrib for found in root.iter() if found.get("class") == name]


def times(root: ElementTree.Element) -> int:
    return int(re.search(r"drawn (\d+) times", "".join(root.itertext()))[1])


def unit(facts: dict[str, Any]) -> float:
    return (neck.SADDLE_X - neck.NUT_X) / neck.neck_from(facts).saddle


def test_without_an_action_there_is_nothing_to_draw() -> None:
    assert neck.neck_drawing({**BASE, "action_bass_12": None, "action_treble_12": None}, FORMATS, {}) == ""


def test_it_has_a_title_for_those_who_cannot_see_it() -> None:
    root = drawn(BASE)
    assert root[0].tag == SVG + "title" and "neck" in root[0].text


def test_frets_stand_at_equal_tempered_places() -> None:
    xs = [float(fret["x1"]) for fret in part(drawn(BASE), "fret")]
    assert len(xs) == 20
    scale = 25.4 * unit(BASE)
    for n, x in enumerate(xs, start=1):
        assert x == pytest.approx(neck.NUT_X + scale * (1 - 2 ** (-n / 12)), abs=0.01)


@given(showing=heights, action=heights)
def test_saddle_and_action_are_as_high_as_stated(showing: F, action: F) -> None:
    facts = {**BASE, "saddle_showing": showing, "action_bass_12": action}
    root = drawn(facts)
    scale = unit(facts) * times(root)
    assert float(part(root, "saddle")[0]["height"]) == pytest.approx(float(showing) * scale, abs=0.01)
    line = part(root, "action")[0]
    assert float(line["y1"]) - float(line["y2"]) == pytest.approx(float(action) * scale, abs=0.01)


def test_the_saddle_carries_the_higher_string() -> None:
    root = drawn(BASE)
    ends = [float(string["y2"]) for name in ("string bass", "string treble") for string in part(root, name)]
    assert float(part(root, "saddle")[0]["y"]) == pytest.approx(min(ends), abs=0.01)


@given(action=heights, relief=st.fractions(min_value=0, max_value=F(3, 100), max_denominator=1000))
def test_the_string_reaches_the_saddle_where_the_trades_formula_says(action: F, relief: F) -> None:
    """Against `intake.trade.neck`, whose share of relief at the 12th is rounded: within 0.003 in."""
    facts = {**BASE, "action_bass_12": action, "relief": relief}
    state = neck.today_from(facts)
    ours = neck.string_height(neck.neck_from(facts), state, neck.neck_from(facts).saddle)
    trades = height_over_plane_at_saddle(action, F("0.02"), relief, F("25.4"), F("0.1"))
    assert ours == pytest.approx(float(trades), abs=0.003)


def test_relief_is_deepest_midway_and_nothing_at_its_ends() -> None:
    board = neck.neck_from(BASE)
    middle = (board.fret(1) + board.fret(14)) / 2
    assert neck.relief_at(board, 0.01, middle) == pytest.approx(0.01)
    assert neck.relief_at(board, 0.01, board.fret(1)) == neck.relief_at(board, 0.01, board.fret(16)) == 0


def test_a_second_panel_only_where_the_work_changes_something() -> None:
    assert len(part(drawn(BASE), "saddle")) == 1
    assert len(part(drawn(BASE, {"relief": BASE["relief"]}), "saddle")) == 1
    assert len(part(drawn(BASE, {"action_bass_12": F(6, 64)}), "saddle")) == 2


def test_what_the_work_does_not_change_stays_as_it_is() -> None:
    after = neck.after_from(neck.today_from(BASE), {"action_bass_12": F(11, 128), "saddle_showing": F(3, 64)})

    assert (after.bass, after.treble, after.showing) == (F(11, 128), F(6, 64), F(3, 64))
    assert (after.relief, after.nut_bass) == (BASE["relief"], BASE["nut_bass_1"])


def test_an_assumed_nut_is_said() -> None:
    facts = {key: value for key, value in BASE.items() if not key.startswith("nut")}
    assert "first fret assumed" in "".join(drawn(facts).itertext())
    assert "assumed" not in "".join(drawn(BASE).itertext())


@given(
    scale=st.sampled_from([F(13), F("24.75"), F(34)]), action=heights,
    relief=st.fractions(min_value=F(-1, 50), max_value=F(1, 20), max_denominator=1000),
    showing=st.none() | heights,
    nut=st.none() | st.fractions(min_value=0, max_value=F(1, 20), max_denominator=500),
)  # fmt: skip
@example(scale=F(13), action=F(1, 32), relief=F(1, 50), showing=None, nut=F(1, 20))
def test_everything_stays_on_the_drawing(**answers: Any) -> None:
    facts = {
        "scale_length": answers["scale"], "action_bass_12": answers["action"], "relief": answers["relief"],
        "saddle_showing": answers["showing"], "nut_bass_1": answers["nut"],
    }  # fmt: skip
    outcome = {"action_bass_12": F(11, 128), "relief": F("0.006")}
    root = drawn({key: value for key, value in facts.items() if value is not None}, outcome)
    _, _, width, height = map(float, root.get("viewBox").split())
    for found in root.iter():
        for key in ("y", "y1", "y2"):
            assert -1 <= float(found.get(key, 0)) <= height
        for key in ("x", "x1", "x2"):
            assert -1 <= float(found.get(key, 0)) <= width
        assert float(found.get("height", 1)) >= 0 if found.tag == SVG + "rect" else True


def test_the_panels_are_as_stated(make: SimpleNamespace) -> None:
    outcome = {"action_bass_12": F(6, 64), "action_treble_12": F(4, 64), "saddle_showing": F(8, 64)}

    words = "".join(drawn(make.facts, outcome).itertext())

    assert "12th fret: bass 9/64 in, treble 7/64 in" in words and "saddle shows 4/64 in" in words
    assert "12th fret: bass 6/64 in, treble 4/64 in" in words and "saddle shows 8/64 in" in words
