"""What a hand entered stands: no row moves, no bounce, no reload and no old mark takes it away."""

from __future__ import annotations

import io
from typing import Any

import pytest
from PIL import Image

pytestmark = pytest.mark.browser
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
DAY_OLD_MARK = "localStorage.setItem('withdrawn at', Date.now() - 24 * 3600 * 1000)"
FAST_INTERVALS = (
    "const real = window.setInterval; window.setInterval = (work, ms) => real(work, Math.min(ms, 200))"
)
OUTBOX = """() => new Promise((resolve, reject) => {
  const opening = indexedDB.open("tallyfret-edits");
  opening.onerror = reject;
  opening.onsuccess = () => {
    const under = opening.result.transaction(["edits", "photos"]), found = [];
    for (const name of ["edits", "photos"]) {
      under.objectStore(name).getAll().onsuccess = ({ target }) => found.push(...target.result);
    }
    under.oncomplete = () => {
      opening.result.close();
      resolve(found.filter((one) => one.state !== "stored").map(({ part }) => part || "photo"));
    };
  };
})"""
ROW_LEFT = "id => document.getElementById(id).nextElementSibling.scrollLeft"
TAP_AGAIN = """([selector, pause]) => new Promise((resolve) => {
  const target = [...document.querySelectorAll(selector)].find((one) => one.checkVisibility());
  const { left, top, width, height } = target.getBoundingClientRect();
  setTimeout(resolve, pause, [left + width / 2, top + height / 2]);
})"""


def picture(number: int, size: tuple[int, int] = (1200, 900)) -> dict[str, Any]:
    content = io.BytesIO()
    Image.effect_noise(size, 40 + number).convert("RGB").save(content, "JPEG", quality=90)
    return {"name": f"{number}.jpg", "mimeType": "image/jpeg", "buffer": content.getvalue()}


def tap_twice(walkin: Any, selector: str, pause: int) -> None:
    """The same place touched twice, `pause` ms apart."""
    walkin.page.locator(f"{selector} >> visible=true").first.scroll_into_view_if_needed()
    x, y = walkin.page.evaluate(TAP_AGAIN, [selector, 0])
    walkin.page.touchscreen.tap(x, y)
    walkin.page.wait_for_timeout(pause)
    walkin.page.touchscreen.tap(x, y)


def neck_of_steel_string(walkin: Any) -> None:
    walkin.go_to("instrument")
    walkin.tap("label:has([value=steel-string])")
    walkin.go_to("neck")


@pytest.mark.parametrize("page", ["ticket", "board"])
def test_a_phone_enrolled_again_keeps_a_new_walkin_without_a_line(walkin: Any, until: Any, page: str) -> None:
    walkin.page.add_init_script(FAST_INTERVALS)
    walkin.page.evaluate(DAY_OLD_MARK)
    walkin.page.goto("/" if page == "board" else "/walkin")
    if page == "board":
        walkin.page.wait_for_timeout(500)
        walkin.page.goto("/walkin")
    walkin.page.wait_for_selector("html.js")
    if page == "ticket":
        walkin.write("#a-customer_name", "Ada Brandt")
        walkin.saved()
    walkin.page.context.route("**/tickets/*/**", lambda route: route.abort())
    walkin.go_to("neck")
    walkin.write("#a-relief", "0.010 in")
    until(walkin.page, "document.getElementById('saved').textContent.includes('kept on this phone')")
    walkin.page.wait_for_timeout(1000)

    assert walkin.page.is_visible("#a-relief")
    if page == "ticket":
        walkin.page.goto("/")
        walkin.page.wait_for_selector("#kept:not([hidden])")
        walkin.page.wait_for_timeout(600)
    assert walkin.page.evaluate(OUTBOX) == ["relief"]


def test_a_row_scrolled_by_hand_stays_when_a_save_is_answered(walkin: Any) -> None:
    neck_of_steel_string(walkin)
    walkin.tap("#a-relief + .rule button >> nth=1")
    walkin.page.locator("#a-relief + .rule").hover(force=True)
    walkin.page.mouse.wheel(200, 0)
    walkin.page.wait_for_timeout(200)
    left = walkin.page.evaluate(ROW_LEFT, "a-relief")
    assert left > 100

    walkin.saved()
    walkin.page.wait_for_timeout(100)
    assert walkin.page.evaluate(ROW_LEFT, "a-relief") == left
    walkin.tap("label:has([name=twist])")
    walkin.page.wait_for_timeout(1200)
    walkin.saved()

    assert walkin.page.evaluate(ROW_LEFT, "a-relief") == left


def test_a_row_in_sight_does_not_move_when_the_target_comes_to_be_known(walkin: Any) -> None:
    neck_of_steel_string(walkin)
    walkin.go_to("action")
    walkin.page.evaluate("document.querySelector('#a-action_bass_12 + .rule').scrollLeft = 150")

    walkin.saved()
    walkin.page.wait_for_selector("#a-action_bass_12 + .rule .ok", state="attached")

    assert walkin.page.evaluate(ROW_LEFT, "a-action_bass_12") == 150


@pytest.mark.parametrize("pause", [40, 150, 300, 500])
def test_a_bounce_takes_no_value_back(walkin: Any, pause: int) -> None:
    neck_of_steel_string(walkin)
    button = "#a-relief + .rule button:nth-child(3)"

    tap_twice(walkin, button, pause)

    assert walkin.page.get_attribute(button, "aria-pressed") == "true"
    assert walkin.page.input_value("#a-relief")


@pytest.mark.parametrize("pause", [40, 150, 300, 500])
@pytest.mark.parametrize(("step", "field"), [("neck", "twist"), ("player", "complaints")])
def test_a_bounce_takes_no_choice_back(walkin: Any, step: str, field: str, pause: int) -> None:
    neck_of_steel_string(walkin)
    walkin.go_to(step)
    label = f"label:has([name={field}])"

    tap_twice(walkin, label, pause)

    assert walkin.page.locator(f"[name={field}]").first.is_checked()


def test_a_deliberate_second_tap_still_takes_a_value_back(walkin: Any) -> None:
    neck_of_steel_string(walkin)

    tap_twice(walkin, "#a-relief + .rule button:nth-child(3)", 800)
    tap_twice(walkin, "label:has([name=twist])", 800)

    assert walkin.page.input_value("#a-relief") == ""
    assert walkin.page.locator("[name=twist]:checked").count() == 0


def test_a_bounce_on_the_fret_sheet_takes_nothing_back(walkin: Any) -> None:
    neck_of_steel_string(walkin)
    walkin.go_to("frets")
    walkin.tap("button:has-text('Frets one by one')")

    for at, button in enumerate(("dialog[open] .ruled .rule button", "dialog[open] .thin button")):
        tap_twice(walkin, button, 250)
        pressed = walkin.page.locator(f"{button} >> nth=0").get_attribute("aria-pressed")
        assert pressed == "true", at


def test_six_photos_are_kept_though_the_page_is_left_at_once(walkin: Any, until: Any) -> None:
    walkin.page.route("**/photos", lambda route: route.abort())
    walkin.go_to("originality-and-photos")
    walkin.page.set_input_files("[name=photos][multiple]", [picture(number) for number in range(6)])
    walkin.page.wait_for_timeout(150)
    asked: list[str] = []
    walkin.page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))

    walkin.page.goto("/", wait_until="commit")

    walkin.page.wait_for_selector("#kept", state="attached")
    if not asked:
        assert walkin.page.evaluate(OUTBOX) == ["photo"] * 6


def test_leaving_while_a_photo_is_not_kept_yet_asks(walkin: Any) -> None:
    walkin.page.evaluate("() => { Blob.prototype.arrayBuffer = () => new Promise(() => {}); }")
    walkin.go_to("originality-and-photos")
    walkin.tap("#originality-and-photos .choices label >> nth=-1")
    walkin.page.set_input_files("[name=photos][multiple]", [picture(1)])

    with walkin.page.expect_event("dialog") as asked:
        walkin.page.close(run_before_unload=True)

    assert asked.value.type == "beforeunload"
    asked.value.accept()


def test_an_own_value_typed_into_the_fret_sheet_and_not_left_is_kept(walkin: Any, until: Any) -> None:
    neck_of_steel_string(walkin)
    walkin.go_to("frets")
    walkin.tap("button:has-text('Frets one by one')")
    walkin.page.locator("dialog[open] .ruled input").focus()
    walkin.page.keyboard.type("0.0125 in")
    walkin.saved()

    walkin.page.reload()
    walkin.page.wait_for_selector("html.js")

    assert walkin.page.input_value("[name='fret_wear.1']") == "0.0125 in"


def test_a_page_older_than_the_last_save_wipes_nothing(walkin: Any) -> None:
    """The page's own answer is slow: a tap, a reload within 0.2 s, a tap on the page that came blank."""
    walkin.write("#a-customer_name", "Ada Brandt")
    walkin.saved()
    neck_of_steel_string(walkin)
    walkin.saved()
    stale = walkin.page.context.request.get(walkin.page.url).text()
    walkin.tap("#a-relief + .rule button:nth-child(3)")
    given = walkin.page.input_value("#a-relief")
    walkin.saved()
    walkin.page.context.route(
        walkin.page.url.partition("#")[0],
        lambda route: route.fulfill(body=stale, content_type="text/html"),
    )
    walkin.page.reload()
    walkin.page.wait_for_selector("html.js")
    walkin.go_to("neck")

    walkin.tap("label:has([name=twist])")
    walkin.page.wait_for_timeout(1000)
    walkin.saved()

    walkin.page.context.unroute_all()
    walkin.page.reload()
    walkin.page.wait_for_selector("html.js")
    assert walkin.page.input_value("#a-relief") == given
    assert walkin.page.locator("[name=twist]:checked").count() == 1
