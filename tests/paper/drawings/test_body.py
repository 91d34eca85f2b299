"""The pins stand where they were put."""

from __future__ import annotations

from fractions import Fraction as F
from typing import Any
from xml.etree import ElementTree

import pytest

from intake.i18n import translations
from intake.i18n.formats import locale_for
from intake.paper.drawings import body
from intake.paper.formats import Formats

FORMATS = Formats(locale_for("en", "en_US"), "en_US", "USD", translations("en"))
FAMILIES = (
    "steel-string", "classical", "archtop", "resonator", "electric", "bass", "mandolin", "ukulele", "banjo",
)  # fmt: skip


def pin(**fields: Any) -> dict[str, Any]:
    return {"part": "top", "kind": "crack", **fields}


def discs(drawing: str) -> list[tuple[float, float]]:
    root = ElementTree.fromstring(drawing)
    return [(float(e.get("cx")), float(e.get("cy"))) for e in root.iter() if e.get("class") == "pin"]


@pytest.mark.parametrize("family", FAMILIES)
def test_every_family_has_its_own_views(family: str) -> None:
    assert {f"{family}-{view}" for view in body.VIEWS} <= body.bodies().keys()


def test_no_pins_no_drawing() -> None:
    assert body.body_drawings("bass", [], FORMATS) == []


def test_pins_stand_in_hundredths_of_their_view() -> None:
    (view,) = body.body_drawings("archtop", [pin(x=F(25), y=F(75))], FORMATS)
    assert discs(view.drawing) == [(50, 180)]


def test_a_view_for_each_side_that_has_pins_and_the_numbers_stay() -> None:
    pins = [pin(number=4, part="headstock"), pin(number=9, part="bridge"), pin(number=2, part="side")]
    views = body.body_drawings("classical", pins, FORMATS)
    assert [view.view for view in views] == ["top", "side", "neck"]
    assert [[n for n in "249" if f">{n}</text>" in view.drawing] for view in views] == [["9"], ["2"], ["4"]]


def test_pins_without_a_place_do_not_cover_each_other() -> None:
    (view,) = body.body_drawings("banjo", [pin() for _ in range(30)], FORMATS)
    places = discs(view.drawing)
    assert len(set(places)) == 30
    assert all(0 <= x <= body.WIDTH and 0 <= y <= body.HEIGHT for x, y in places)


def test_an_unknown_part_is_drawn_on_the_top() -> None:
    (view,) = body.body_drawings("steel-string", [pin(part="elsewhere")], FORMATS)
    assert body.bodies()["steel-string-top"] in view.drawing


def test_a_family_without_a_drawing_is_not_drawn_as_another() -> None:
    assert body.body_drawings("", [pin(part="top")], FORMATS) == []


@pytest.mark.parametrize("part", ["top", "bridge", "back", "side", "neck", "headstock", "elsewhere"])
@pytest.mark.parametrize("place", [{}, {"x": F(95), "y": F(95)}])
def test_more_pins_than_a_view_has_room_for_are_all_drawn(part: str, place: dict[str, F]) -> None:
    """Once the view is full they cover each other."""
    (view,) = body.body_drawings("bass", [pin(part=part, **place) for _ in range(200)], FORMATS)

    assert len(discs(view.drawing)) == 200
