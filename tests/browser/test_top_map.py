"""The thickness of the top, place by place: filled in with a thumb, told back, and kept."""

from __future__ import annotations

from typing import Any

import pytest

pytestmark = pytest.mark.browser
PLACES = {"bridge": "0.110 in", "sound_hole": "0.110 in", "bass_bout": "0.110 in", "treble_bout": "0.110 in"}
SIZES = """() => [...document.querySelectorAll(".places input, .places .rule button, .places summary")]
  .filter(one => one.offsetParent).map(one => one.getBoundingClientRect().height)"""


def fill_in(walkin: Any) -> None:
    """A flat top whose player wishes for more, and its top, at four places by their rows and one by hand."""
    walkin.go_to("instrument")
    walkin.tap("label:has([name=family][value='steel-string'])")
    walkin.go_to("player")
    walkin.tap("label:has([name=sound_wish][value=more_power])")
    walkin.go_to("top-and-bridge")
    walkin.tap(".places summary")
    for place, value in PLACES.items():
        walkin.tap(f"div:has(> [name='top_map.{place}']) .rule [value='{value}']")
    walkin.write("[name='top_map.tail']", "2.7 mm")
    walkin.page.keyboard.press("Tab")
    walkin.saved()


def test_the_map_is_filled_in_by_thumb_and_said(walkin: Any, until: Any) -> None:
    fill_in(walkin)

    until(walkin.page, "() => document.body.innerText.includes('By the map the top hardly thins')")
    walkin.shoot("top-map")
    walkin.page.locator("[name='top_map.waist']").scroll_into_view_if_needed()
    walkin.shoot("top-map-end")
    assert min(walkin.page.evaluate(SIZES)) >= 48
    assert walkin.page.evaluate("document.documentElement.scrollWidth") == 390


def test_a_place_that_cannot_be_is_named_as_people_call_it(walkin: Any, until: Any) -> None:
    fill_in(walkin)
    walkin.write("[name='top_map.tail']", "2.7")
    walkin.page.keyboard.press("Tab")

    told = "() => document.getElementById('e-top_map').innerText.startsWith('Tail: 2.7 in is too much')"
    until(walkin.page, told)
    assert "were millimetres meant?" in walkin.page.inner_text("#e-top_map")
    walkin.shoot("top-map-wrong")
    assert walkin.page.input_value("[name='top_map.tail']") == "2.7"


def test_a_map_that_was_begun_stands_open_when_the_ticket_is_opened_again(walkin: Any) -> None:
    fill_in(walkin)

    walkin.page.reload()
    walkin.page.wait_for_selector("html.js")
    walkin.go_to("top-and-bridge")

    assert walkin.page.locator(".places[open]").count() == 1
    assert walkin.page.input_value("[name='top_map.tail']") == "2.7 mm"
    walkin.shoot("top-map-again")
