"""In WebKit and Firefox: the walk, a line that is down, a photo, two tabs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from intake.store import edits

pytestmark = pytest.mark.browser
STEPS = (
    "customer", "instrument", "player", "strings-and-room", "neck", "action", "frets", "top-and-bridge",
    "cracks-and-braces", "hardware-and-wiring", "originality-and-photos",
)  # fmt: skip


def begin(phone: Any, shop: Any) -> None:
    """A blank wizard, its modules at work."""
    phone.open(f"{shop.url}/walkin")
    phone.see("html.js")
    phone.see("#customer.now")


def kept(shop: Any) -> dict[str, str]:
    """What the shop holds of the only ticket, by part."""
    (ticket,) = shop.ctx.store.db.table("tickets").rows
    standing = edits.standing(shop.ctx.store.db, ticket["id"])
    return {part: held.value for part, held in standing.items()}


def values(shop: Any, *parts: str) -> list[str | None]:
    held = kept(shop)
    return [held.get(part) for part in parts]


def test_the_walk_of_twelve_steps_ends_in_a_quote(phone: Any, shop: Any) -> None:
    begin(phone, shop)

    phone.write("#a-customer_name", "Ines Falk")
    phone.step("instrument")
    phone.tap("label:has([value=steel-string])")
    phone.step("player")
    phone.tap("label:has([name=complaints][value=restring])")
    for step in STEPS[3:]:
        phone.step(step)
        phone.tap(f"#{step} .pass .sound")
    phone.step("quote")
    phone.see("#summary .job")
    phone.tap("#next")
    phone.until("location.pathname.endsWith('/quotes/1')")

    assert "Ines Falk" in phone.words("body") and phone.ask("!!document.querySelector('[data-job=restring]')")
    assert kept(shop)["customer_name"] == "Ines Falk"


def test_a_value_entered_without_a_line_arrives(phone: Any, shop: Any, wait_until: Any) -> None:
    begin(phone, shop)
    phone.write("#a-customer_name", "Ada Brandt")
    phone.saved()

    shop.stop()
    phone.step("neck")
    phone.write("#a-relief", "0.010 in")
    phone.step("action")
    phone.until("!document.querySelector('#saved[data-state=saved]')")
    shop.start()
    phone.ask("void window.dispatchEvent(new Event('online'))")
    phone.saved()

    wait_until(lambda: kept(shop).get("relief") == "0.010 in")


def test_a_value_entered_without_a_line_outlives_the_page(phone: Any, shop: Any, wait_until: Any) -> None:
    begin(phone, shop)
    phone.write("#a-customer_name", "Ada Brandt")
    phone.saved()

    shop.stop()
    phone.step("neck")
    phone.write("#a-relief", "0.010 in")
    phone.step("action")
    phone.until("!document.querySelector('#saved[data-state=saved]')")
    phone.open("about:blank")
    shop.start()
    phone.open(f"{shop.url}/")
    phone.until("document.getElementById('kept').hidden")

    wait_until(lambda: kept(shop).get("relief") == "0.010 in")


def test_a_photo_is_made_small_and_arrives(phone: Any, shop: Any, tmp_path: Path) -> None:
    picture = tmp_path / "front.png"
    Image.new("RGB", (2400, 1200), "#885522").save(picture)
    begin(phone, shop)
    phone.write("#a-customer_name", "Ada Brandt")
    phone.saved()

    phone.step("originality-and-photos")
    phone.choose_file("[name=photos][multiple]", picture)
    phone.see(".thumbs img")
    phone.until("!!document.querySelector('.thumbs small[hidden]')")
    phone.saved()

    (photo,) = shop.ctx.store.photos.rglob("*.jpg")
    with Image.open(photo) as image:
        assert image.size == (1600, 800)


def test_two_tabs_of_a_phone_lose_neither_value(phone: Any, shop: Any, wait_until: Any) -> None:
    begin(phone, shop)
    phone.write("#a-customer_name", "Ada Brandt")
    phone.saved()
    first, ticket = phone.tab(), phone.ask("location.href.split('#')[0]")
    phone.new_tab()
    phone.open(ticket)
    phone.see("html.js")

    phone.step("neck")
    phone.write("#a-relief", "0.014 in")
    phone.step("action")
    phone.saved()
    phone.turn_to(first)
    phone.step("neck")
    phone.write("#a-body_hump", "0.010 in")
    phone.step("action")
    phone.saved()

    wait_until(lambda: values(shop, "relief", "body_hump") == ["0.014 in", "0.010 in"])
