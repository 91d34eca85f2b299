"""What must hold on every step: nothing typed is lost, nothing is too small, nothing is too heavy."""

from __future__ import annotations

import io
import re
from typing import Any
from urllib.parse import parse_qs

import pytest
from PIL import Image

pytestmark = pytest.mark.browser
STEPS = (
    "customer", "instrument", "player", "strings-and-room", "neck", "action", "frets", "top-and-bridge",
    "cracks-and-braces", "hardware-and-wiring", "originality-and-photos", "quote",
)  # fmt: skip
BUDGET = 60 * 1024
STANDS = "Promise.allSettled(document.getAnimations().map(one => one.finished))"
"""Nothing moves in any more."""
TOO_SMALL = """() => [...document.querySelectorAll(
    'a, button, input, select, textarea, summary, label:has(input)')]
  .filter(one => one.checkVisibility({visibilityProperty: true}) && one.type !== 'hidden'
    && getComputedStyle(one).pointerEvents !== 'none')
  .map(one => [one, one.getBoundingClientRect()])
  .filter(([one, box]) => box.width && box.height && (box.width < 47.5 || box.height < 47.5))
  .map(([one, box]) => [one.tagName, one.id || one.name || one.textContent.trim().slice(0, 30),
    box.width, box.height].join(' '))"""


@pytest.mark.parametrize("family", ["steel-string", "electric", "banjo"])
def test_every_step_fits_the_phone_and_the_thumb(walkin: Any, family: str) -> None:
    walkin.go_to("instrument")
    walkin.tap(f"label:has([value={family}])")
    for number, step in enumerate(STEPS, 1):
        walkin.go_to(step)
        walkin.shoot(f"{family}-{number:02}-{step}")
        wide = walkin.page.evaluate("document.documentElement.scrollWidth")
        assert wide <= 390, f"{step} is {wide} px wide"
        assert walkin.page.evaluate(TOO_SMALL) == [], step


@pytest.mark.parametrize(("wide", "high"), [(320, 740), (360, 740), (430, 740), (740, 360)])
def test_other_phones_and_double_text_need_no_sideways_scroll(walkin: Any, wide: int, high: int) -> None:
    walkin.page.set_viewport_size({"width": wide, "height": high})
    if wide == 360:
        walkin.page.evaluate("document.documentElement.style.fontSize = '200%'")
    for step in STEPS:
        walkin.go_to(step)
        assert walkin.page.evaluate("document.documentElement.scrollWidth") <= wide, step


FAR_ENOUGH = """() => {
  const aimedAt = 'a, button, input, select, textarea, summary, label:has(input)';
  const targets = [...document.querySelectorAll(aimedAt)]
    .filter(one => one.checkVisibility({visibilityProperty: true}) && one.type !== 'hidden'
      && getComputedStyle(one).pointerEvents !== 'none' && !one.matches('label input, svg a'))
    .map(one => ({ one, box: one.getBoundingClientRect(), bar: one.closest('.neck, .foot, .pass') }))
    .filter(({ box }) => box.width && box.height);
  const along = (a, b, from, to) => {
    const gap = Math.max(a[from] - b[to], b[from] - a[to]);
    return gap >= 11.5 || (gap > -0.5 && Math.abs(a[from] + a[to] - b[from] - b[to]) / 2 >= 59.5);
  };
  const name = ({ one }) => [one.tagName, one.id || one.name || one.textContent.trim().slice(0, 9)].join(' ');
  return targets.flatMap((a, at) => targets.slice(at + 1)
    .filter(b => a.bar === b.bar && !a.one.contains(b.one) && !b.one.contains(a.one))
    .filter(b => !along(a.box, b.box, 'left', 'right') && !along(a.box, b.box, 'top', 'bottom'))
    .map(b => `${name(a)} | ${name(b)}`));
}"""
CUT_OFF = """() => [...document.querySelectorAll('button, .choices span, legend, h1, .how, .btn, #range')]
  .filter(one => one.checkVisibility({visibilityProperty: true}) && one.clientWidth)
  .filter(one => !one.matches(".rule *, .unseen"))
  .filter(one => one.scrollWidth > one.clientWidth + 1 || one.scrollHeight > one.clientHeight + 4)
  .map(one => [one.tagName, one.textContent.trim().slice(0, 30), one.scrollWidth, one.clientWidth,
    one.scrollHeight, one.clientHeight].join(' '))"""


@pytest.mark.parametrize(
    ("wide", "high", "text", "family"),
    [
        (360, 740, "100%", "steel-string"),
        (390, 844, "100%", "electric"),
        (430, 932, "100%", "classical"),
        (740, 360, "100%", "steel-string"),
        (360, 740, "200%", "steel-string"),
    ],
)
def test_what_a_thumb_aims_at_is_large_apart_and_whole(
    walkin: Any, wide: int, high: int, text: str, family: str
) -> None:
    """48 px at least; 12 px apart, or with centres as far apart as two 48 px targets with 12 px between."""
    walkin.page.set_viewport_size({"width": wide, "height": high})
    walkin.page.evaluate("size => { document.documentElement.style.fontSize = size }", text)
    walkin.go_to("instrument")
    walkin.tap(f"label:has([value={family}])")
    wrong: list[Any] = []
    for step in STEPS:
        walkin.go_to(step)
        walkin.page.evaluate(STANDS)
        walkin.shoot(f"{wide}-{text[:3]}-{step}")
        wrong += [(step, "small", one) for one in walkin.page.evaluate(TOO_SMALL)]
        wrong += [(step, "near", one) for one in walkin.page.evaluate(FAR_ENOUGH)]
        wrong += [(step, "cut off", one) for one in walkin.page.evaluate(CUT_OFF)]
        sideways = walkin.page.evaluate("document.documentElement.scrollWidth")
        wrong += [(step, "sideways", sideways)] if sideways > wide else []
    walkin.tap("#steps-button")
    wrong += [("list", "near", one) for one in walkin.page.evaluate(FAR_ENOUGH)]
    assert wrong == [], wrong


def test_the_main_answers_are_64_px_high_and_the_way_on_stands_in_sight(walkin: Any) -> None:
    walkin.go_to("instrument")
    walkin.tap("label:has([value=steel-string])")
    for step in STEPS[:-1]:
        walkin.go_to(step)
        low = walkin.page.evaluate(
            """() => [...document.querySelectorAll('.step.now .q > .choices label, .step.now .rule button')]
            .filter(one => one.checkVisibility() && one.getBoundingClientRect().height < 63.5)
            .map(one => one.textContent)"""
        )
        assert low == [], step
        for button in ("#next", f"#{step} .pass:not([hidden]) button"):
            seen = walkin.page.evaluate(
                """one => [...document.querySelectorAll(one)].map(button => button.getBoundingClientRect())
                .every(box => box.bottom <= innerHeight && box.top >= 0)""",
                button,
            )
            assert seen, (step, button)


def test_bad_measures_get_a_sentence_and_stay(walkin: Any) -> None:
    walkin.go_to("instrument")
    walkin.tap("label:has([value=steel-string])")
    walkin.go_to("neck")
    walkin.write("#a-relief", "lots")
    walkin.go_to("action")
    walkin.write("#a-action_bass_12", "800/64 in")
    walkin.next()
    walkin.page.wait_for_selector("#e-action_bass_12:not(:empty)", state="attached")
    walkin.page.wait_for_selector("#e-relief:not(:empty)", state="attached")
    walkin.saved()
    for reload in (False, True):
        if reload:
            walkin.page.reload()
            walkin.page.wait_for_selector("html.js")
        walkin.go_to("action")
        assert walkin.page.input_value("#a-action_bass_12") == "800/64 in"
        assert "plausible" in walkin.page.inner_text("#e-action_bass_12")
        walkin.go_to("neck")
        assert walkin.page.input_value("#a-relief") == "lots"
        assert "lots" in walkin.page.inner_text("#e-relief")
        assert walkin.page.get_attribute("#a-relief", "aria-invalid") == "true"
        assert "e-relief" in walkin.page.get_attribute("#a-relief", "aria-describedby")


@pytest.mark.main_path
def test_a_line_that_is_down_costs_nothing_typed(walkin: Any) -> None:
    walkin.page.route("**/edits", lambda route: route.abort())
    walkin.write("#a-customer_name", "Ada Brandt")
    walkin.next()
    walkin.page.wait_for_selector("#saved[data-state=unsaved]")
    assert "try again" in walkin.page.inner_text("#saved")
    assert walkin.page.input_value("#a-customer_name") == "Ada Brandt"
    walkin.page.unroute("**/edits")
    walkin.page.evaluate("window.dispatchEvent(new Event('online'))")
    walkin.saved()
    walkin.page.reload()
    assert walkin.page.input_value("#a-customer_name") == "Ada Brandt"


def test_what_changes_while_a_save_is_under_way_is_saved_too(walkin: Any) -> None:
    def slow(route: Any) -> None:
        walkin.page.wait_for_timeout(600)
        route.continue_()

    walkin.page.route("**/edits", slow, times=1)
    walkin.write("#a-customer_name", "Ada")
    with walkin.page.expect_request("**/edits"):
        walkin.page.wait_for_timeout(1000)
    walkin.page.locator("#a-customer_name").fill("Ada Brandt")
    walkin.saved()
    walkin.page.reload()
    assert walkin.page.input_value("#a-customer_name") == "Ada Brandt"


def test_a_portal_that_answers_for_the_server_is_not_believed(walkin: Any) -> None:
    walkin.page.route("**/edits", lambda route: route.fulfill(status=200, body="<p id=portal>Sign in</p>"))
    walkin.write("#a-customer_name", "Ada Brandt")
    walkin.next()
    walkin.page.wait_for_selector("#saved[data-state=unsaved]")
    assert walkin.page.locator("#portal").count() == 0


def test_an_edit_tried_again_stays_as_it_is_and_newer_words_follow_it(walkin: Any) -> None:
    sent: list[list[tuple[str, str]]] = []

    def note(request: Any) -> None:
        if request.url.endswith("/edits"):
            fields = parse_qs(request.post_data)
            count = sum(name.endswith("-id") for name in fields)
            sent.append([(fields[f"edits-{n}-id"][0], fields[f"edits-{n}-value"][0]) for n in range(count)])

    walkin.page.on("request", note)
    walkin.page.route("**/edits", lambda route: route.abort())
    walkin.write("#a-customer_name", "Ada")
    walkin.page.wait_for_selector("#saved[data-state=unsaved]")
    walkin.page.locator("#a-customer_name").fill("Ada Brandt")
    while len(sent) < 2:  # pytest's own limit ends this
        walkin.page.wait_for_timeout(50)
    walkin.page.unroute("**/edits")
    walkin.page.evaluate("window.dispatchEvent(new Event('online'))")
    walkin.saved()

    (first,) = sent[0]
    assert first[1] == "Ada" and all(edits[0] == first for edits in sent)
    assert [value for _, value in sent[-1]] == ["Ada", "Ada Brandt"]
    uuid7 = r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}"
    assert all(re.fullmatch(uuid7, id) for edits in sent for id, _ in edits)


def test_two_taps_on_a_step_button_move_one_step_and_save_once(walkin: Any) -> None:
    walkin.go_to("instrument")
    walkin.tap("label:has([value=steel-string])")
    walkin.saved()
    sent: list[str] = []
    walkin.page.on("request", lambda request: request.url.endswith("/edits") and sent.append(request.url))
    walkin.go_to("neck")
    walkin.page.evaluate(
        """() => { const b = document.querySelector('#neck .sound'); b.click(); b.click(); }"""
    )
    walkin.page.wait_for_selector("#action.now")
    walkin.saved()
    walkin.page.wait_for_timeout(1500)  # in which nothing more may happen
    assert walkin.page.evaluate("location.hash") == "#action"
    assert walkin.page.get_attribute("#neck", "data-passed") == "all_sound"
    assert len(sent) == 1


def test_all_sound_and_not_assessed_are_different_things(walkin: Any) -> None:
    walkin.go_to("instrument")
    walkin.tap("label:has([value=steel-string])")
    walkin.go_to("neck")
    walkin.pass_step("neck", "sound")
    walkin.page.wait_for_selector("#action.now")
    assert walkin.page.is_checked("[name=twist][value=none]")
    assert walkin.page.input_value("#a-relief") == ""
    walkin.pass_step("action", "off")
    walkin.saved()
    walkin.page.reload()
    walkin.page.wait_for_selector("html.js")
    assert walkin.page.get_attribute("#neck", "data-passed") == "all_sound"
    assert walkin.page.get_attribute("#action", "data-passed") == "not_assessed"
    assert "off" in walkin.page.get_attribute("#steps a[href='#action']", "class")


def test_a_second_tap_takes_an_answer_back(walkin: Any) -> None:
    walkin.go_to("player")
    walkin.tap("label:has([name=attack][value=firm])")
    assert walkin.page.is_checked("[name=attack][value=firm]")
    walkin.page.wait_for_timeout(650)  # a quicker one is a bounce
    walkin.tap("label:has([name=attack][value=firm])")
    assert not walkin.page.is_checked("[name=attack][value=firm]")


def test_questions_follow_family_and_other_answers(walkin: Any) -> None:
    walkin.go_to("instrument")
    walkin.tap("label:has([value=classical])")
    assert not walkin.page.is_visible("[data-q=rod_state]")
    walkin.tap("label:has([name=rod][value=two_way])")
    walkin.go_to("neck")
    assert walkin.page.is_visible("[data-q=rod_state]")
    walkin.go_to("top-and-bridge")
    assert not walkin.page.is_visible("[data-q=cone_state]")
    assert walkin.page.is_visible("[data-q=belly_rise]")


def test_a_step_tells_its_name_and_takes_the_focus(walkin: Any) -> None:
    walkin.next()
    walkin.page.wait_for_selector("#instrument.now")
    assert walkin.page.title().startswith("Instrument · ")
    assert walkin.page.evaluate("document.activeElement.id") == "t-instrument"
    walkin.page.go_back()
    walkin.page.wait_for_selector("#customer.now")


def test_without_javascript_the_long_page_posts_and_keeps_everything(staff: Any) -> None:
    context = staff(java_script_enabled=False)
    page = context.new_page()
    page.goto("/walkin")
    page.fill("#a-customer_name", "Ines Falk")
    page.check("[name=family][value=steel-string]", force=True)
    page.fill("#a-relief", "0.008 in")
    page.fill("#a-action_bass_12", "lots")
    page.fill("[name='fret_wear.3']", "0.006 in")
    page.fill("[name=buzz_at] >> nth=0", "3/5")
    page.check("[name='original.bridge'][value=original]", force=True)
    page.select_option("[name='pins.1.kind']", "crack")
    page.select_option("[name='pins.1.state']", "open")
    page.select_option("[name='pins.1.part']", "top")
    page.fill("[name='pins.1.size']", "5 in")
    page.click("button[value=save]")
    assert "lots" in page.inner_text("#e-action_bass_12")
    for name, value in (("action_bass_12", "lots"), ("relief", "0.008 in"), ("customer_name", "Ines Falk")):
        assert page.input_value(f"#a-{name}") == value
    page.fill("#a-action_bass_12", "8/64 in")
    page.click("button[value=save]")
    page.wait_for_url("**/tickets/*")
    assert page.input_value("[name='fret_wear.3']") == "0.006 in"
    assert page.input_value("[name=buzz_at] >> nth=0") == "3/5"
    assert page.is_checked("[name='original.bridge'][value=original]")
    assert page.input_value("[name='pins.1.size']") == "5 in"
    assert page.input_value("#a-action_bass_12") == "8/64 in"
    context.close()


def test_two_phones_on_a_step_lose_neither(walkin: Any, staff: Any) -> None:
    walkin.go_to("instrument")
    walkin.tap("label:has([value=steel-string])")
    walkin.saved()
    other = staff().new_page()
    other.goto(walkin.page.url.split("#")[0])
    other.wait_for_selector("html.js")
    walkin.go_to("neck")
    walkin.write("#a-relief", "0.010 in")
    walkin.next()
    walkin.saved()
    other.evaluate("location.hash = 'neck'")
    other.fill("#a-relief", "0.014 in")
    other.wait_for_selector("#neck .clash")
    assert "wrong" in (other.get_attribute("#steps [data-of=neck]", "class") or "")
    asked = [other.locator(f"#neck {one}").first.bounding_box()["y"] for one in ("h1", ".clash", ".q")]
    assert asked == sorted(asked)  # seen without a search for it
    shown = other.inner_text("#neck .clash")
    assert "0.010 in" in shown and "0.014 in" in shown
    other.click("[name=choose][data-value='0.014 in']")
    other.wait_for_selector("#saved[data-state=saved]")
    assert not other.locator(".clash").count()
    other.reload()
    other.wait_for_selector("html.js")
    assert other.input_value("#a-relief") == "0.014 in"
    other.context.close()


def test_values_inside_the_players_target_stand_on_green(walkin: Any) -> None:
    walkin.go_to("instrument")
    walkin.tap("label:has([value=steel-string])")
    walkin.go_to("action")
    rule = "[data-q=action_bass_12] .rule"
    walkin.page.wait_for_selector(f"{rule} .ok")
    marked = walkin.page.eval_on_selector_all(f"{rule} .ok", "all => all.map(one => one.value)")
    assert marked and "10/64 in" not in marked
    walkin.tap(f"{rule} button[value='8/64 in']")
    assert walkin.page.input_value("#a-action_bass_12") == "8/64 in"


@pytest.mark.main_path
def test_a_photo_is_made_small_sent_and_kept(walkin: Any) -> None:
    picture = io.BytesIO()
    Image.new("RGB", (2400, 1200), "#885522").save(picture, "PNG")
    walkin.go_to("originality-and-photos")
    file = {"name": "front.png", "mimeType": "image/png", "buffer": picture.getvalue()}
    walkin.page.set_input_files("[name=photos][multiple]", file)
    walkin.page.wait_for_selector(".thumbs small[hidden]", state="attached")
    walkin.page.reload()
    kept = walkin.page.get_attribute(".thumbs img", "src")
    answer = walkin.page.request.get(kept)
    assert Image.open(io.BytesIO(answer.body())).size == (1600, 800)


@pytest.mark.parametrize("page_address", ["/walkin", "/"])
def test_first_load_is_light(staff: Any, address: str, page_address: str) -> None:
    """Everything on the wire, headers too. The budgets are ours."""
    context = staff(service_workers="block")
    page = context.new_page()
    devtools = context.new_cdp_session(page)
    devtools.send("Network.enable")
    urls: dict[str, str] = {}
    weights: dict[str, int] = {}
    devtools.on(
        "Network.responseReceived", lambda seen: urls.update({seen["requestId"]: seen["response"]["url"]})
    )
    devtools.on(
        "Network.loadingFinished", lambda seen: weights.update({seen["requestId"]: seen["encodedDataLength"]})
    )
    page.goto(page_address)
    page.wait_for_load_state("networkidle")
    fonts = sum(weight for id, weight in weights.items() if urls.get(id, "").endswith(".woff2"))
    total = sum(weights.values())
    print(f"first load of {page_address}: {total - fonts} bytes in {len(weights)} answers, fonts {fonts}")
    assert any(url.endswith(".css") for url in urls.values()) and fonts
    assert total - fonts <= BUDGET
    assert total <= 2 * BUDGET
    context.close()


def test_what_sends_answers_comes_with_the_first_and_is_asked_for_until_it_is_there(
    staff: Any,
) -> None:
    context = staff(service_workers="block")
    page = context.new_page()
    page.route("**/htmx/*.js", lambda route: route.abort())
    page.goto("/walkin")
    page.wait_for_selector("html.js")

    page.fill("#a-customer_name", "Ada Brandt")
    page.wait_for_selector("#saved[data-state=unsaved]")
    page.unroute("**/htmx/*.js")
    page.evaluate("dispatchEvent(new Event('online'))")

    page.wait_for_selector("#saved[data-state=saved]")
    assert page.locator("script[src*=htmx]").count() == 1
    page.reload()
    assert page.input_value("#a-customer_name") == "Ada Brandt"
    context.close()


def test_the_families_are_drawn_when_their_step_comes_up(walkin: Any) -> None:
    drawings = walkin.page.locator(".family svg use")
    assert not drawings.count()

    walkin.go_to("instrument")

    walkin.page.wait_for_selector(".family svg")
    assert drawings.count() == walkin.page.locator("[data-drawn]:not([data-drawn=''])").count() > 5
    walkin.shoot("families")


def test_the_families_are_drawn_without_script_too(staff: Any) -> None:
    context = staff(java_script_enabled=False)
    page = context.new_page()

    page.goto("/walkin")

    assert page.locator(".family svg").first.is_visible()
    context.close()


def test_what_this_phone_answered_last_is_offered_first(walkin: Any) -> None:
    walkin.go_to("instrument")
    walkin.tap("label:has([name=family][value=mandolin])")
    walkin.go_to("strings-and-room")
    order = "all => all.map(one => one.value)"
    book = walkin.page.eval_on_selector_all("[name=gauge_set]", order)
    walkin.tap(f"label:has([name=gauge_set][value={book[3]}])")
    walkin.saved()
    kept = walkin.page.evaluate("localStorage.getItem('answered lately')")
    assert "mandolin" in kept and "Ada" not in kept
    walkin.page.goto("/walkin")
    walkin.page.wait_for_selector("html.js")
    walkin.go_to("instrument")
    assert walkin.page.eval_on_selector_all("[name=family]", order)[0] == "mandolin"
    assert not walkin.page.locator("[name=family]:checked").count()  # offered, not answered
    walkin.tap("label:has([name=family][value=mandolin])")
    walkin.go_to("strings-and-room")
    offered = walkin.page.eval_on_selector_all("[name=gauge_set]", order)
    assert offered == [book[3], *book[:3], *book[4:]]
