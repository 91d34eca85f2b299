"""The fretboard drawing follows the numbers."""

from __future__ import annotations

from fractions import Fraction as F
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.i18n import translations
from intake.i18n.formats import locale_for
from intake.paper.drawings import fretboard, svg
from intake.paper.formats import Formats

FORMATS = Formats(locale_for("en", "en_US"), "en_US", "USD", translations("en"))
BASE: dict[str, Any] = {
    "crown_height": F("0.040"), "fret_wear": {1: F("0.012"), 3: F("0.004")}, "fret_count": F(20),
    "string_count": F(6), "crown_limit": F("0.030"), "crown_left": F("0.028"),
}  # fmt: skip
depths = st.fractions(min_value=0, max_value=F("0.04"), max_denominator=1000)


def drawn(facts: dict[str, Any], **more: Any) -> ElementTree.Element:
    return ElementTree.fromstring(str(fretboard.fretboard_drawing(facts, FORMATS, **more)))


def part(root: ElementTree.Element, name: str) -> list[dict[str, str]]:
    return [found.attrib for found in root.iter() if found.get("class") == name]


@pytest.mark.parametrize("missing", ["crown_height", "fret_wear"])
def test_nothing_without_wear(missing: str) -> None:
    facts = {key: value for key, value in BASE.items() if key != missing}
    assert fretboard.fretboard_drawing(facts, FORMATS) == ""


def test_nothing_for_an_answer_of_none_or_nonsense() -> None:
    assert fretboard.fretboard_drawing({**BASE, "fret_wear": ("none",)}, FORMATS) == ""
    assert fretboard.fretboard_drawing({**BASE, "fret_wear": {1: F(1)}}, FORMATS) == ""


def test_frets_stand_at_equal_tempered_places() -> None:
    xs = [float(fret["x1"]) for fret in part(drawn(BASE), "fret")]
    assert len(xs) == 21 and xs[0] == fretboard.LEFT and xs[-1] == pytest.approx(fretboard.RIGHT)
    spaces = [right - left for left, right in pairwise(xs)]
    for wide, narrow in pairwise(spaces):
        assert wide / narrow == pytest.approx(2 ** (1 / 12), rel=0.001)


@given(wear=st.dictionaries(st.integers(1, 20), depths, min_size=1))
def test_bars_are_as_high_as_the_crowns(wear: dict[int, F]) -> None:
    bars = part(drawn({**BASE, "fret_wear": wear}), "crown")
    crowns = [float(F("0.040") - wear.get(n, F(0))) for n in range(1, 21)]
    scale = fretboard.CHART / max(*crowns, 0.001)
    assert [float(bar["height"]) for bar in bars] == pytest.approx([c * scale for c in crowns], abs=0.01)


def test_bars_under_the_limit_are_dark_and_the_lines_at_their_heights() -> None:
    root = drawn(BASE)
    assert [n for n, bar in enumerate(part(root, "crown"), 1) if bar["fill"] == svg.WORK] == [1]
    scale = fretboard.CHART / 0.040
    for id_ in ("crown_limit", "crown_left"):
        (line,) = part(root, id_)
        assert float(line["y1"]) == pytest.approx(fretboard.FLOOR - float(BASE[id_]) * scale, abs=0.01)


def test_values_stand_at_worn_frets_in_the_unit_of_the_counter() -> None:
    assert {"28", "36"} <= set(drawn(BASE).itertext())
    metric = list(drawn(BASE, metric=True).itertext())
    assert "71" in metric and any("hundredths of a millimetre" in words for words in metric)


def test_buzzes_and_loose_frets() -> None:
    root = drawn({**BASE, "buzz_at": ("3/2", "6/0", "9/1", "odd"), "loose_frets": (7, 99)})
    assert len(part(root, "buzz")) == 4  # two strokes for each of the two that are on this board
    words = list(root.itertext())
    assert words.count("~") == 1 and any("~ loose fret" in word for word in words)
