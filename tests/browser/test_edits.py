"""Answers travel as edits: what a hand entered stands in the ticket, or before a person who chooses."""

from __future__ import annotations

import io
import shutil
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from intake.store import devices, edits
from intake.store.backup.backup import back_up as take_backup

pytestmark = pytest.mark.browser
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
HELD = """() => new Promise((resolve, reject) => {
  const opening = indexedDB.open("tallyfret-edits");
  opening.onerror = reject;
  opening.onsuccess = () => {
    const under = opening.result.transaction(["edits", "photos"]), found = [];
    for (const name of ["edits", "photos"]) {
      under.objectStore(name).getAll().onsuccess = ({ target }) => found.push(...target.result);
    }
    under.oncomplete = () => {
      opening.result.close();
      resolve(found);
    };
  };
})"""
NOTHING_WAITS = f"async () => (await ({HELD})()).every((one) => one.state === 'stored')"
ONLINE = "window.dispatchEvent(new Event('online'))"
FOOT = "words => document.getElementById('saved').textContent.includes(words)"
CHOICE = "label:has([name={}][value={}])"

HEIC = Path(__file__).parents[1] / "screens" / "wizard" / "photo.heic"
"""64 by 48 pixels, made for this test."""
NEXT = "words => document.getElementById('next').textContent === words"


def noise(number: int, size: tuple[int, int] = (64, 48)) -> dict[str, Any]:
    content = io.BytesIO()
    Image.effect_noise(size, 40 + number).convert("RGB").save(content, "JPEG", quality=90)
    return {"name": f"{number}.jpg", "mimeType": "image/jpeg", "buffer": content.getvalue()}


def ready(page: Any) -> Any:
    page.wait_for_selector("html.js")
    return page


def go_to(page: Any, step: str) -> None:
    page.evaluate("step => { location.hash = step }", step)
    page.wait_for_selector(f"#{step}.now")


def saved(page: Any) -> None:
    page.wait_for_selector("#saved:is([data-state=saved], [data-state=refused])")


def values(page: Any, *ids: str) -> list[str]:
    return [page.input_value(f"#a-{id}") for id in ids]


@pytest.fixture
def ticket(walkin: Any) -> str:
    """A ticket with a name, open on the phone at the neck; its address."""
    walkin.write("#a-customer_name", "Ada Brandt")
    walkin.saved()
    walkin.go_to("neck")
    return walkin.page.url.partition("#")[0]


def tab(walkin: Any, address: str, step: str = "neck") -> Any:
    """Another tab of the same phone."""
    page = walkin.page.context.new_page()
    page.goto(f"{address}#{step}")
    return ready(page)


@pytest.fixture
def other(staff: Any, ticket: str) -> Any:
    """A second phone with the same ticket at the neck."""
    context = staff(**PHONE)
    page = context.new_page()
    page.goto(f"{ticket}#neck")
    yield ready(page)
    context.close()


# ---- reloads and tabs


def test_a_page_that_comes_late_shows_what_the_phone_has_sent_since(walkin: Any, ticket: str) -> None:
    context = walkin.page.context
    late = context.request.get(ticket).text()
    walkin.page.fill("#a-relief", "0.010 in")
    walkin.saved()
    context.route(ticket, lambda route: route.fulfill(body=late, content_type="text/html"))
    walkin.page.reload()
    ready(walkin.page)
    walkin.go_to("neck")

    assert values(walkin.page, "relief") == ["0.010 in"]

    walkin.page.fill("#a-body_hump", "0.004 in")
    walkin.saved()
    context.unroute_all()
    walkin.page.reload()
    ready(walkin.page)
    assert values(walkin.page, "relief", "body_hump") == ["0.010 in", "0.004 in"]


def test_a_reload_within_a_moment_keeps_the_tap(walkin: Any, ticket: str, until: Any) -> None:
    def slow(route: Any) -> None:
        walkin.page.wait_for_timeout(400)
        route.continue_()

    walkin.page.route("**/edits", slow)
    walkin.tap("#a-relief + .rule button:nth-child(3)")
    given = walkin.page.input_value("#a-relief")
    walkin.page.wait_for_timeout(150)
    walkin.page.reload()
    ready(walkin.page)

    assert values(walkin.page, "relief") == [given]

    walkin.go_to("neck")
    walkin.tap(CHOICE.format("twist", "none"))
    walkin.saved()
    walkin.page.reload()
    assert values(ready(walkin.page), "relief") == [given]


def test_a_second_tab_shows_the_first_ones_value_and_blanks_nothing(
    walkin: Any, ticket: str, until: Any
) -> None:
    second = tab(walkin, ticket)
    walkin.page.fill("#a-relief", "0.010 in")
    saved(walkin.page)
    until(second, "document.getElementById('a-relief').value === '0.010 in'")
    second.fill("#a-body_hump", "0.004 in")
    saved(second)

    assert values(second, "relief") == ["0.010 in"]
    walkin.page.reload()
    assert values(ready(walkin.page), "relief", "body_hump") == ["0.010 in", "0.004 in"]


def test_two_tabs_without_a_line_lose_nothing(walkin: Any, ticket: str, until: Any) -> None:
    second = tab(walkin, ticket)
    walkin.page.context.route("**/edits", lambda route: route.abort())
    walkin.page.fill("#a-relief", "0.010 in")
    until(walkin.page, FOOT, "kept on this phone")
    second.fill("#a-body_hump", "0.004 in")
    until(second, FOOT, "2 answers kept on this phone")
    walkin.page.context.unroute_all()
    second.evaluate(ONLINE)
    until(second, NOTHING_WAITS)

    walkin.page.reload()
    assert values(ready(walkin.page), "relief", "body_hump") == ["0.010 in", "0.004 in"]


def test_a_field_under_the_hand_does_not_change(walkin: Any, ticket: str, until: Any) -> None:
    second = tab(walkin, ticket)
    second.evaluate("document.getElementById('a-relief').focus()")
    walkin.page.fill("#a-relief", "0.010 in")
    saved(walkin.page)
    second.wait_for_timeout(500)

    assert values(second, "relief") == [""]

    second.evaluate("document.activeElement.blur()")
    until(second, "document.getElementById('a-relief').value === '0.010 in'")


# ---- two phones


def test_another_phones_answer_comes_with_the_next_save(
    walkin: Any, ticket: str, other: Any, until: Any
) -> None:
    other.fill("#a-relief", "0.010 in")
    saved(other)

    walkin.page.fill("#a-body_hump", "0.004 in")

    until(walkin.page, "document.getElementById('a-relief').value === '0.010 in'")
    assert values(walkin.page, "relief", "body_hump") == ["0.010 in", "0.004 in"]


def clash(walkin: Any, other: Any, until: Any) -> None:
    """Both phones have given a relief, the first one without a line."""
    walkin.page.route("**/edits", lambda route: route.abort())
    walkin.page.fill("#a-relief", "0.010 in")
    walkin.page.fill("#a-body_hump", "0.004 in")
    until(walkin.page, FOOT, "kept on this phone")
    other.fill("#a-relief", "0.014 in")
    saved(other)
    walkin.page.unroute("**/edits")
    walkin.page.evaluate(ONLINE)
    walkin.page.wait_for_selector("#neck .clash")


def test_of_two_measures_only_the_one_that_contradicts_clashes(
    walkin: Any, ticket: str, other: Any, until: Any
) -> None:
    clash(walkin, other, until)

    boxes = walkin.page.locator("#neck .clash")
    assert boxes.count() == 1 and boxes.get_attribute("data-part") == "relief"
    assert {"0.010 in", "0.014 in"} <= set(boxes.locator("b").all_inner_texts())
    walkin.shoot("clash")
    other.reload()
    assert values(ready(other), "body_hump") == ["0.004 in"]


@pytest.mark.parametrize("chosen", ["0.010 in", "0.014 in"])
def test_a_clash_ends_by_a_choice_and_by_nothing_else(
    walkin: Any, ticket: str, other: Any, until: Any, chosen: str
) -> None:
    clash(walkin, other, until)
    walkin.tap(CHOICE.format("twist", "none"))
    until(walkin.page, NOTHING_WAITS)
    walkin.page.reload()
    ready(walkin.page)
    walkin.page.wait_for_selector("#neck .clash")

    walkin.shoot("clash again")
    walkin.tap(f"#neck .clash button[data-value='{chosen}']")
    walkin.shoot("clash chosen")
    walkin.saved()

    assert walkin.page.locator("#neck .clash").count() == 0
    walkin.page.reload()
    assert values(ready(walkin.page), "relief") == [chosen]


def test_while_a_clash_is_open_the_foot_leads_to_it_and_hands_nothing_over(
    walkin: Any, ticket: str, other: Any, until: Any
) -> None:
    clash(walkin, other, until)
    go_to(walkin.page, "quote")
    until(walkin.page, NEXT, "Choose what holds first")
    walkin.shoot("quote held up")

    walkin.next()

    walkin.page.wait_for_selector("#neck.now .clash")
    walkin.tap("#neck .clash button[data-value='0.014 in']")
    until(walkin.page, NOTHING_WAITS)
    go_to(walkin.page, "quote")
    until(walkin.page, NEXT, "Choose the family first")


def test_a_third_phones_value_stands_in_the_clash_too(
    walkin: Any, ticket: str, other: Any, staff: Any, until: Any
) -> None:
    context = staff(**PHONE)
    third = context.new_page()
    third.goto(f"{ticket}#neck")
    ready(third)
    clash(walkin, other, until)

    third.fill("#a-relief", "0.018 in")
    third.wait_for_selector("#neck .clash")

    shown = set(third.locator("#neck .clash b").all_inner_texts())
    assert shown == {"0.010 in", "0.014 in", "0.018 in"}
    context.close()


# ---- taking back


def test_what_was_taken_back_can_be_had_again(walkin: Any, ticket: str, until: Any) -> None:
    button = "#a-relief + .rule button:nth-child(3)"
    walkin.tap(button)
    given = walkin.page.input_value("#a-relief")
    walkin.saved()
    walkin.page.wait_for_timeout(650)
    walkin.tap(button)
    walkin.page.wait_for_selector("#undo:not([hidden])")
    assert values(walkin.page, "relief") == [""] and given in walkin.page.inner_text("#undo")
    walkin.shoot("undo")

    walkin.tap("#undo button")
    until(walkin.page, NOTHING_WAITS)

    assert walkin.page.get_attribute(button, "aria-pressed") == "true"
    walkin.page.reload()
    assert values(ready(walkin.page), "relief") == [given]


def test_all_sound_taken_back_leaves_what_a_hand_gave(walkin: Any, ticket: str) -> None:
    walkin.tap(CHOICE.format("twist", "none"))
    walkin.pass_step("neck", "sound")
    walkin.saved()
    filled = walkin.page.locator("#neck input[type=radio]:checked").count()
    assert filled > 1
    walkin.go_to("neck")

    walkin.pass_step("neck", "sound")
    walkin.saved()

    walkin.page.reload()
    ready(walkin.page)
    given = walkin.page.locator("#neck input[type=radio]:checked")
    assert [one.get_attribute("name") for one in given.all()] == ["twist"]
    assert walkin.page.get_attribute("#neck", "data-passed") == ""


# ---- photos, and what the foot says


def photos(page: Any, *files: dict[str, Any]) -> None:
    go_to(page, "originality-and-photos")
    page.wait_for_timeout(300)
    page.set_input_files("[name=photos][multiple]", list(files))


def test_the_foot_says_saved_only_when_the_photos_are_there_too(walkin: Any, ticket: str, until: Any) -> None:
    walkin.page.route("**/photos", lambda route: route.abort())
    photos(walkin.page, noise(1))
    until(walkin.page, FOOT, "1 photo kept on this phone")
    walkin.page.wait_for_timeout(1200)
    assert walkin.page.get_attribute("#saved", "data-state") == "unsaved"

    walkin.page.unroute_all()
    walkin.page.evaluate(ONLINE)

    walkin.saved()


def test_a_refused_photo_is_never_called_saved(walkin: Any, ticket: str, until: Any) -> None:
    photos(walkin.page, {"name": "a.heic", "mimeType": "image/heic", "buffer": HEIC.read_bytes()})
    until(walkin.page, FOOT, "1 photo kept on this phone. Not taken. This is a HEIC photo")
    walkin.page.wait_for_selector("#saved[data-state=unsaved]")
    walkin.shoot("heic refused")

    walkin.page.reload()
    ready(walkin.page)

    until(walkin.page, FOOT, "1 photo kept on this phone. Not taken. This is a HEIC photo")
    go_to(walkin.page, "originality-and-photos")
    walkin.tap(".thumbs label")
    until(walkin.page, NOTHING_WAITS)
    assert walkin.page.evaluate(HELD.replace('"edits", "photos"', '"photos"')) == []


def test_without_a_database_nothing_is_called_kept(staff: Any, until: Any) -> None:
    context = staff(**PHONE)
    context.add_init_script("Object.defineProperty(window, 'indexedDB', { value: undefined });")
    page = context.new_page()
    page.goto("/walkin")
    ready(page)
    page.route("**/edits", lambda route: route.abort())
    page.route("**/photos", lambda route: route.abort())
    page.fill("#a-customer_name", "Ada Brandt")
    photos(page, noise(1))
    page.wait_for_selector("#saved[data-state=unkept]")
    page.wait_for_timeout(500)

    told = page.inner_text("body")
    assert "kept on this phone" not in told and "Stay on this page" in told

    page.unroute_all()
    page.evaluate(ONLINE)
    saved(page)
    page.reload()
    assert values(ready(page), "customer_name") == ["Ada Brandt"]
    assert page.locator(".thumbs img").count() == 1
    context.close()


def test_an_unticked_photo_is_taken_away_and_can_be_had_again(walkin: Any, ticket: str, until: Any) -> None:
    photos(walkin.page, noise(1), noise(2))
    until(walkin.page, NOTHING_WAITS)

    walkin.tap(".thumbs li:first-child label")
    walkin.page.wait_for_selector("#undo:not([hidden])")
    walkin.shoot("photo-taken-away")
    tick = walkin.page.locator(".thumbs input").first.bounding_box()
    assert min(tick["width"], tick["height"]) >= 48
    walkin.page.click("#undo button")
    walkin.page.wait_for_timeout(700)
    walkin.tap(".thumbs li:last-child label")
    until(walkin.page, NOTHING_WAITS)

    walkin.page.reload()
    go_to(ready(walkin.page), "originality-and-photos")
    assert walkin.page.locator(".thumbs img").count() == 1
    walkin.tap(".thumbs label")
    until(walkin.page, NOTHING_WAITS)
    walkin.page.reload()
    assert ready(walkin.page).locator(".thumbs img").count() == 0


def test_a_photo_that_waits_leaves_the_phone_when_it_is_unticked(
    walkin: Any, ticket: str, until: Any
) -> None:
    walkin.page.context.route("**/photos", lambda route: route.abort())
    photos(walkin.page, noise(1), noise(2))
    until(walkin.page, FOOT, "2 photos kept on this phone")

    walkin.tap(".thumbs li:first-child label")
    until(walkin.page, FOOT, "1 photo kept on this phone")
    walkin.page.click("#undo button")
    until(walkin.page, FOOT, "2 photos kept on this phone")
    walkin.page.wait_for_timeout(700)
    walkin.tap(".thumbs li:last-child label")
    until(walkin.page, FOOT, "1 photo kept on this phone")

    walkin.page.context.unroute_all()
    walkin.page.evaluate(ONLINE)
    until(walkin.page, NOTHING_WAITS)
    walkin.page.reload()
    assert ready(walkin.page).locator(".thumbs img").count() == 1


def test_twenty_photos_without_a_line_all_arrive(walkin: Any, ticket: str, until: Any) -> None:
    walkin.page.context.route("**/photos", lambda route: route.abort())
    photos(walkin.page, *[noise(number, (64 + number, 48)) for number in range(20)])
    until(walkin.page, FOOT, "20 photos kept on this phone")
    walkin.page.reload()
    ready(walkin.page)
    until(walkin.page, FOOT, "20 photos kept on this phone")

    walkin.page.context.unroute_all()
    walkin.page.evaluate(ONLINE)

    until(walkin.page, NOTHING_WAITS)
    walkin.page.reload()
    ready(walkin.page)
    assert walkin.page.locator(".thumbs img").count() == 20


@pytest.mark.parametrize("size", [(4000, 3000), (8000, 6000)], ids=["12 MP", "48 MP"])
def test_a_large_photo_is_kept_as_it_came_and_sent_small(
    walkin: Any, ticket: str, until: Any, size: tuple[int, int]
) -> None:
    content = io.BytesIO()
    Image.radial_gradient("L").resize(size).convert("RGB").save(content, "JPEG", quality=95)
    walkin.page.context.route("**/photos", lambda route: route.abort())
    photos(walkin.page, {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": content.getvalue()})
    until(walkin.page, FOOT, "1 photo kept on this phone")
    as_sizes = "resolve(found.map(({ bytes }) => bytes?.byteLength))"
    kept = HELD.replace('"photos"', '"pictures"').replace("resolve(found)", as_sizes)
    assert len(content.getvalue()) in walkin.page.evaluate(kept)

    walkin.page.context.unroute_all()
    walkin.page.evaluate(ONLINE)
    until(walkin.page, NOTHING_WAITS)

    walkin.page.reload()
    address = ready(walkin.page).get_attribute(".thumbs img", "src")
    answer = walkin.page.request.get(address)
    assert max(Image.open(io.BytesIO(answer.body())).size) == 1600


def test_photos_arrive_though_their_module_could_not_be_fetched_at_first(staff: Any, until: Any) -> None:
    """A browser remembers that a module could not be fetched, for as long as the page is open."""
    context = staff(service_workers="block", **PHONE)
    page = context.new_page()
    page.goto("/walkin")
    ready(page)
    for name in ("photos", "sending-photos", "shrink"):
        context.route(f"**/js/{name}.js", lambda route: route.abort())
    photos(page, noise(1), noise(2))
    page.wait_for_timeout(500)

    context.unroute_all()

    until(page, "document.querySelectorAll('.thumbs img').length === 2")
    until(page, NOTHING_WAITS)
    page.reload()
    assert ready(page).locator(".thumbs img").count() == 2
    context.close()


@pytest.mark.parametrize("kind", ["edits", "photos"])
def test_what_did_not_arrive_is_tried_again_without_being_asked(
    walkin: Any, ticket: str, until: Any, kind: str
) -> None:
    lost: list[str] = []

    def drop_the_first(route: Any) -> None:
        route.continue_() if lost else (lost.append(route.request.url), route.abort())

    walkin.page.route(f"**/{kind}", drop_the_first)
    walkin.page.fill("#a-relief", "0.010 in")
    if kind == "photos":
        photos(walkin.page, noise(1))
    until(walkin.page, FOOT, "kept on this phone")

    until(walkin.page, NOTHING_WAITS)

    assert len(lost) == 1
    walkin.saved()


# ---- clocks, and the shop set back


@pytest.mark.parametrize("days", [-365, -1, 1, 365])
def test_no_clock_decides_anything(walkin: Any, ticket: str, until: Any, days: int) -> None:
    walkin.page.fill("#a-relief", "0.010 in")
    walkin.saved()
    walkin.page.evaluate(f"() => {{ const real = Date.now; Date.now = () => real() + {days} * 86400000; }}")
    walkin.page.fill("#a-relief", "0.012 in")
    walkin.page.fill("#a-body_hump", "0.004 in")
    walkin.page.evaluate("document.activeElement.blur()")
    walkin.page.wait_for_timeout(200)
    until(walkin.page, NOTHING_WAITS)

    walkin.page.reload()

    assert values(ready(walkin.page), "relief", "body_hump") == ["0.012 in", "0.004 in"]
    assert walkin.page.locator(".clash").count() == 0


@pytest.fixture
def enrolled(chromium: Any, shop: Any) -> Any:
    """A phone of a shop whose store can be set back."""
    context = chromium.new_context(base_url=shop.url, **PHONE)
    context.add_cookies(
        [{"name": name, "value": token, "url": shop.url} for name, token in shop.cookies.items()]
    )
    yield context
    context.close()


def test_a_shop_set_back_to_an_older_backup_gets_everything_again(
    enrolled: Any, shop: Any, until: Any, tmp_path: Path
) -> None:
    page = enrolled.new_page()
    page.goto("/walkin")
    ready(page)
    shop.stop()
    shutil.copytree(shop.data, tmp_path / "backup")
    shop.start()
    page.fill("#a-customer_name", "Ada Brandt")
    saved(page)
    go_to(page, "neck")
    page.fill("#a-relief", "0.010 in")
    until(page, NOTHING_WAITS)
    address = page.url.partition("#")[0]
    shop.stop()
    shutil.rmtree(shop.data)
    shutil.copytree(tmp_path / "backup", shop.data)
    shop.start()
    with shop.ctx.store.writing() as db:
        edits.begin_anew(db)

    page.fill("#a-body_hump", "0.004 in")
    until(page, NOTHING_WAITS)

    ticket = address.rpartition("/")[2]
    standing = {part: one.value for part, one in edits.standing(shop.ctx.store.db, ticket).items()}
    for part, value in {"customer_name": "Ada Brandt", "relief": "0.010 in", "body_hump": "0.004 in"}.items():
        assert standing[part] == value


# ---- how long what the shop has stays on the phone

PARTS = HELD.replace("resolve(found)", "resolve(found.map(({ part, state }) => `${part} ${state}`))")


def parts_held(page: Any) -> set[str]:
    return set(page.evaluate(PARTS))


@pytest.fixture
def neck(enrolled: Any, shop: Any, until: Any) -> Any:
    """The neck of a ticket on a shop of its own, a name and a relief saved."""
    page = enrolled.new_page()
    page.goto("/walkin")
    ready(page)
    page.fill("#a-customer_name", "Ada Brandt")
    go_to(page, "neck")
    page.fill("#a-relief", "0.010 in")
    saved(page)
    until(page, NOTHING_WAITS)
    return page


def back_up(shop: Any) -> None:
    take_backup(shop.data, shop.data.parent / "backups", shop.ctx.now(), "asked")


def test_what_a_backup_holds_leaves_the_phone_once_no_older_page_is_open(
    neck: Any, enrolled: Any, shop: Any, until: Any
) -> None:
    back_up(shop)
    neck.fill("#a-body_hump", "0.004 in")
    saved(neck)
    until(neck, NOTHING_WAITS)
    all_three = {"customer_name stored", "relief stored", "body_hump stored"}
    assert parts_held(neck) == all_three  # this page was rendered before them
    newer = enrolled.new_page()
    newer.goto(neck.url)
    ready(newer).fill("#a-relief", "0.012 in")
    saved(newer)
    until(newer, NOTHING_WAITS)
    assert len(newer.evaluate(HELD)) == 4  # and it is still open

    neck.close()
    newer.reload()
    ready(newer).fill("#a-relief", "0.014 in")
    saved(newer)
    until(newer, NOTHING_WAITS)

    until(newer, f"async () => !(await ({PARTS})()).includes('customer_name stored')")
    assert parts_held(newer) == {"relief stored", "body_hump stored"}  # those of after the backup
    assert sorted(one["value"] for one in newer.evaluate(HELD)) == ["0.004 in", "0.012 in", "0.014 in"]


def test_without_a_backup_it_stays_for_thirty_days(neck: Any, until: Any) -> None:
    neck.reload()
    ready(neck).fill("#a-body_hump", "0.004 in")
    saved(neck)
    until(neck, NOTHING_WAITS)
    assert len(neck.evaluate(HELD)) == 3
    neck.evaluate("() => { const real = Date.now; Date.now = () => real() + 31 * 86400000; }")

    neck.fill("#a-relief", "0.012 in")
    saved(neck)
    until(neck, NOTHING_WAITS)

    until(neck, f"async () => (await ({HELD})()).length === 1")
    assert neck.evaluate(HELD)[0]["value"] == "0.012 in"


def test_a_withdrawn_phone_lets_go_at_once_of_what_the_shop_has(neck: Any, shop: Any, until: Any) -> None:
    with shop.ctx.store.writing() as db:
        devices.revoke(db, devices.every(db)[0].id, shop.ctx.now())

    neck.fill("#a-relief", "0.012 in")

    neck.wait_for_selector("#saved[data-state=revoked]")
    until(neck, f"async () => (await ({HELD})()).length === 1")
    assert parts_held(neck) == {"relief waiting"}


# ---- erased, and what an earlier version left


def test_an_erased_customer_leaves_the_phone_too(walkin: Any, ticket: str, until: Any) -> None:
    def gone(route: Any) -> None:
        route.fulfill(status=410, headers={"Erased": "yes"}, body="Erased.")

    walkin.page.context.route("**/edits", gone)
    walkin.page.fill("#a-relief", "0.010 in")
    until(walkin.page, f"async () => (await ({HELD})()).length === 0")


OLD_STEP = """([ticket, pairs]) => new Promise((resolve) => {
  const opening = indexedDB.open("tallyfret", 1);
  opening.onupgradeneeded = () => {
    const entries = opening.result.createObjectStore("entries", { keyPath: "seq", autoIncrement: true });
    entries.createIndex("key", "key", { unique: true });
    entries.createIndex("ticket", "ticket");
    opening.result.createObjectStore("drafts", { keyPath: "ticket" });
  };
  opening.onsuccess = () => {
    const under = opening.result.transaction(["entries"], "readwrite");
    under.objectStore("entries").put({ key: crypto.randomUUID(), ticket, kind: "step", step: "neck", pairs,
      url: `/tickets/${ticket}/steps/neck`, created: Date.now(), changed: Date.now(), attempts: 0,
      state: "waiting", why: "" });
    under.oncomplete = () => { opening.result.close(); resolve(); };
  };
})"""


def test_a_whole_step_that_an_earlier_version_left_here_arrives(walkin: Any, ticket: str, until: Any) -> None:
    pairs = [["relief", "0.010 in"], ["based_on", "0"], ["passed", ""]]
    walkin.page.goto("/")
    walkin.page.evaluate(OLD_STEP, [ticket.rpartition("/")[2], pairs])
    walkin.page.goto(f"{ticket}#neck")
    ready(walkin.page)

    until(walkin.page, "async () => !(await indexedDB.databases()).some(({ name }) => name === 'tallyfret')")

    walkin.page.reload()
    assert values(ready(walkin.page), "relief") == ["0.010 in"]
