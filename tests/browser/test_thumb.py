"""What a hand and an ear rely on: the right keyboard, calm where it is asked for, steps read in order."""

from __future__ import annotations

from typing import Any

import pytest

pytestmark = pytest.mark.browser
# Type and inputmode pick the keyboard (HTML 4.10.5 and 6.8.7). A measure may hold "/" and a unit: letters
KEYBOARDS = {
    "a-customer_name": ("text", ""),
    "a-customer_phone": ("tel", ""),
    "a-customer_email": ("email", ""),
    "a-wanted_by": ("date", ""),
    "a-year_about": ("text", "decimal"),
    "a-string_count": ("text", "decimal"),
    "a-worth": ("text", "decimal"),
    "a-relief": ("text", ""),
}
OF_FIELDS = """ids => Object.fromEntries(ids.map(id => {
  const field = document.getElementById(id);
  return [id, [field.type, field.inputMode]];
}))"""
MOVING = """async step => {
  location.hash = step;
  await new Promise(requestAnimationFrame);
  const styles = [...document.querySelectorAll("*")].map(one => getComputedStyle(one));
  const long = all => all.split(", ").some(time => parseFloat(time) > 0);
  return document.getAnimations().length + styles.filter(style => style.scrollBehavior === "smooth"
    || (style.animationName !== "none" && long(style.animationDuration))
    || long(style.transitionDuration)).length;
}"""
READ = {
    "customer": ["Who is asking?", "Name", "Telephone", "Email", "Reach by", "Left with it", "Needed by"],
    "instrument": ["What came in?", "Family", "Label says", "Serial number", "About which year", "Handed"],
    "neck": ["Is the neck straight and fast?", "Relief", "Gap at the heel", "Twist", "Board", "Not assessed"],
}  # fmt: skip
AROUND = ['link "Counter"', 'button "', "main:", "region", "contentinfo", "So far", 'button "Back"', 'next"']


def in_order(words: list[str], text: str) -> bool:
    """Does each stand after the one before it?"""
    at = 0
    for word in words:
        at = text.find(word, at)
        if at < 0:
            return False
        at += len(word)
    return True


def test_each_field_brings_its_keyboard(walkin: Any) -> None:
    found = walkin.page.evaluate(OF_FIELDS, list(KEYBOARDS))
    assert {id: tuple(values) for id, values in found.items()} == KEYBOARDS


def test_the_counter_fills_in_nobody_else_s_name(walkin: Any) -> None:
    """The person typed about is not the one who types: a browser's own memory would offer other customers."""
    assert walkin.page.get_attribute("#wizard", "autocomplete") == "off"
    assert walkin.page.locator("#wizard [autocomplete]:not([autocomplete=off])").count() == 0


@pytest.mark.parametrize("calm", [True, False])
def test_nothing_moves_for_who_asked_for_calm(walkin: Any, calm: bool) -> None:
    walkin.page.emulate_media(reduced_motion="reduce" if calm else "no-preference")
    moved = [walkin.page.evaluate(MOVING, step) for step in ("instrument", "neck", "quote")]
    assert moved == [0, 0, 0] if calm else all(moved)


@pytest.mark.parametrize("step", list(READ))
def test_a_step_is_read_in_its_order_between_the_way_back_and_the_way_on(walkin: Any, step: str) -> None:
    walkin.go_to(step)
    told = walkin.page.locator("body").aria_snapshot()
    assert in_order(AROUND, told), told
    assert in_order(READ[step], told), told
    assert told.count("heading") == 1 and "/tickets/" not in told
