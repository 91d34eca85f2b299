"""What the phone keeps leaves it only when the server says so: every other answer, one by one."""

from __future__ import annotations

import base64
import io
import json
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

pytestmark = pytest.mark.browser
KEPT = """() => new Promise((resolve, reject) => {
  const opening = indexedDB.open("tallyfret-edits");
  opening.onerror = reject;
  opening.onsuccess = () => {
    const under = opening.result.transaction(["edits", "photos"]), found = [];
    for (const name of ["edits", "photos"]) {
      under.objectStore(name).getAll().onsuccess = ({ target }) => found.push(...target.result);
    }
    under.oncomplete = () => {
      opening.result.close();
      resolve(found.filter((one) => one.state !== "stored"));
    };
  };
})"""
KEPT_NOTHING = f"async () => !(await ({KEPT})()).length"
ONLINE_AT = "moment => { setTimeout(() => window.dispatchEvent(new Event('online')), moment - Date.now()) }"
ONLINE = "setTimeout(() => window.dispatchEvent(new Event('online')), 200)"


def picture() -> dict[str, Any]:
    content = io.BytesIO()
    Image.new("RGB", (40, 30), "#885522").save(content, "JPEG")
    return {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": content.getvalue()}


def answer_with(phone: Any, where: str, **answer: Any) -> None:
    phone.page.route(where, lambda route: route.fulfill(**answer))


@pytest.mark.parametrize(
    "answer",
    [
        {"status": 200, "body": "<p>Sign in to the guest network</p>"},
        {"status": 302, "headers": {"Location": "/walkin"}},
        {"status": 401, "body": "Sign in."},
        {"status": 403, "body": "Not here."},
        {"status": 409, "body": "Being saved."},
        {"status": 429, "body": "Slowly."},
        {"status": 500, "body": "Oh."},
        {"status": 507, "body": "Full."},
        {"status": 422, "body": "A portal's own 422"},
        {"status": 200, "headers": {"Saved-Key": "another"}, "body": ""},
    ],
    ids=lambda answer: f"{answer['status']}-{answer.get('body', 'elsewhere')[:12]}",
)
def test_an_entry_stays_until_its_own_key_comes_back(walkin: Any, until: Any, answer: dict[str, Any]) -> None:
    answer_with(walkin, "**/edits", **answer)
    walkin.write("#a-customer_name", "Ada Brandt")
    walkin.next()
    until(walkin.page, "document.getElementById('saved').textContent.includes('kept on this phone')")
    (entry,) = walkin.page.evaluate(KEPT)
    assert entry["state"] == "waiting" and entry["tried"] >= 1
    assert (entry["part"], entry["value"]) == ("customer_name", "Ada Brandt")
    walkin.page.unroute("**/edits")
    walkin.page.evaluate(ONLINE)
    until(walkin.page, KEPT_NOTHING)
    walkin.saved()
    walkin.page.reload()
    assert walkin.page.input_value("#a-customer_name") == "Ada Brandt"


def test_signed_out_says_how_many_wait(walkin: Any, until: Any) -> None:
    answer_with(walkin, "**/edits", status=401, body="Sign in.")
    walkin.write("#a-customer_name", "Ines Vogt")
    walkin.next()
    walkin.page.wait_for_selector("#saved[data-state=signin]")
    assert "1 answer kept on this phone. Sign in" in walkin.page.inner_text("#saved")
    walkin.page.goto("/")
    walkin.page.wait_for_selector("[data-signin] a")
    assert "Ines Vogt" in walkin.page.inner_text("#kept")
    walkin.page.unroute("**/edits")
    walkin.tap("[data-send]")
    walkin.page.wait_for_selector("main > .tickets:has-text('Ines Vogt')")
    until(walkin.page, "document.getElementById('kept').hidden")


def test_a_withdrawn_phone_gives_up_what_it_keeps_only_on_a_yes(walkin: Any, until: Any) -> None:
    walkin.page.context.route(
        "**/edits", lambda route: route.fulfill(status=401, headers={"Revoked": "yes"}, body="Withdrawn.")
    )
    walkin.write("#a-customer_name", "Ada Brandt")
    walkin.next()
    walkin.page.wait_for_selector("#saved[data-state=revoked]")
    walkin.page.goto("/")
    walkin.page.wait_for_selector("[data-wipe] button")
    assert "as a file" in walkin.page.inner_text("[data-why]")
    walkin.page.once("dialog", lambda dialog: dialog.dismiss())
    walkin.tap("[data-wipe] button")
    assert len(walkin.page.evaluate(KEPT)) == 1
    walkin.page.once("dialog", lambda dialog: dialog.accept())
    walkin.tap("[data-wipe] button")
    until(walkin.page, KEPT_NOTHING)
    until(walkin.page, "document.getElementById('kept').hidden")


def test_leaving_a_field_does_not_save_it_twice(walkin: Any) -> None:
    sent: list[str] = []
    walkin.page.on("request", lambda request: request.url.endswith("/edits") and sent.append(request.url))
    walkin.write("#a-customer_name", "Ada Brandt")
    walkin.saved()
    walkin.next()
    walkin.page.wait_for_timeout(1200)
    assert len(sent) == 1


def test_what_the_server_refuses_stands_until_somebody_decides(walkin: Any, until: Any) -> None:
    answer_with(walkin, "**/edits", status=413, body="This is too long.")
    walkin.write("#a-customer_name", "Ada Brandt")
    walkin.next()
    until(walkin.page, f"async () => (await ({KEPT})())[0]?.state === 'refused'")
    walkin.page.goto("/")
    walkin.page.wait_for_selector(".standing")
    assert "too long" in walkin.page.inner_text(".standing")
    walkin.page.once("dialog", lambda dialog: dialog.dismiss())
    walkin.tap(".standing button:has-text('Throw away')")
    assert len(walkin.page.evaluate(KEPT)) == 1
    walkin.page.unroute("**/edits")
    walkin.tap(".standing button:has-text('Try again')")
    until(walkin.page, KEPT_NOTHING)


@pytest.mark.parametrize("status", [413, 415])
def test_a_refused_photo_is_marked_and_the_words_go_on(walkin: Any, until: Any, status: int) -> None:
    answer_with(walkin, "**/photos", status=status, body="Not this one.")
    walkin.go_to("originality-and-photos")
    walkin.page.set_input_files("[name=photos][multiple]", picture())
    walkin.page.wait_for_selector(".thumbs small:has-text('not taken')")
    walkin.go_to("customer")
    walkin.write("#a-customer_name", "Ada Brandt")
    walkin.next()
    walkin.page.wait_for_selector("#where:has-text('#')")
    (entry,) = walkin.page.evaluate(KEPT)
    assert ("key" in entry, entry["state"], entry["why"]) == (True, "refused", "Not this one.")


def test_refused_measures_are_stored_and_leave_the_phone(walkin: Any, until: Any) -> None:
    walkin.go_to("neck")
    walkin.write("#a-relief", "lots")
    walkin.next()
    walkin.page.wait_for_selector("#saved[data-state=refused]")
    until(walkin.page, KEPT_NOTHING)


def test_every_photo_is_kept_before_the_first_has_gone(walkin: Any, until: Any) -> None:
    walkin.page.route("**/photos", lambda route: None)  # a line that takes everything and answers nothing
    walkin.go_to("originality-and-photos")
    three = [{**picture(), "name": f"{name}.jpg"} for name in "abc"]
    walkin.page.set_input_files("[name=photos][multiple]", three)
    until(walkin.page, f"async () => (await ({KEPT})()).filter((one) => one.key).length === 3")
    assert walkin.page.locator(".thumbs li img").count() == 3


def test_the_export_holds_words_and_photos(walkin: Any, tmp_path: Path, until: Any) -> None:
    sent = picture()
    walkin.page.context.route("**/tickets/**", lambda route: route.abort())
    walkin.write("#a-customer_name", "Ada Brandt")
    walkin.next()
    walkin.go_to("originality-and-photos")
    walkin.page.set_input_files("[name=photos][multiple]", sent)
    until(walkin.page, "document.getElementById('saved').textContent.includes('1 answer, 1 photo')")
    walkin.page.goto("/")
    with walkin.page.expect_download() as download:
        walkin.tap("[data-export]")
    download.value.save_as(tmp_path / "phone.json")
    content = json.loads((tmp_path / "phone.json").read_text("utf-8"))
    (words,), (photo,) = content["edits"], content["photos"]
    assert (words["part"], words["value"]) == ("customer_name", "Ada Brandt")
    assert Image.open(io.BytesIO(base64.b64decode(photo["base64"]))).size == (40, 30)
    assert content["drafts"][0]["parts"]["customer_name"]["value"] == "Ada Brandt"


def test_two_pages_of_a_phone_send_an_entry_once(walkin: Any, until: Any) -> None:
    walkin.page.context.route("**/edits", lambda route: route.abort())
    walkin.write("#a-customer_name", "Ada Brandt")
    walkin.next()
    until(walkin.page, f"async () => (await ({KEPT})()).length === 1")
    board = walkin.page.context.new_page()
    board.goto("/")
    board.wait_for_selector("#kept:not([hidden])")
    sent: list[str] = []

    def let_through(route: Any) -> None:
        sent.append(route.request.post_data)
        route.continue_()

    moment = walkin.page.evaluate("Date.now() + 1500")
    for page in (walkin.page, board):
        page.evaluate(ONLINE_AT, moment)
    walkin.page.context.route("**/edits", let_through)  # from here on the board may load itself anew
    until(walkin.page, KEPT_NOTHING)
    walkin.saved()
    assert len(set(sent)) == 1


def test_a_line_that_was_down_while_another_phone_wrote_clashes_and_loses_nothing(
    walkin: Any, staff: Any
) -> None:
    walkin.write("#a-customer_name", "Ada")
    walkin.next()
    walkin.saved()
    walkin.page.route("**/edits", lambda route: route.abort())
    walkin.go_to("neck")
    walkin.write("#a-relief", "0.010 in")
    walkin.next()
    walkin.page.wait_for_selector("#saved[data-state=unsaved]")
    other = staff().new_page()
    other.goto(walkin.page.url.split("#")[0])
    other.wait_for_selector("html.js")
    other.evaluate("location.hash = 'neck'")
    other.fill("#a-relief", "0.014 in")
    other.wait_for_selector("#saved[data-state=saved]")
    other.context.close()
    walkin.page.unroute("**/edits")
    walkin.page.reload()
    walkin.page.wait_for_selector("#neck .clash", state="attached")
    walkin.go_to("neck")
    shown = walkin.page.inner_text("#neck .clash")
    assert "0.010 in" in shown and "0.014 in" in shown


def test_a_full_phone_says_so_and_sends_all_the_same(staff: Any) -> None:
    context = staff()
    context.add_init_script("""IDBObjectStore.prototype.put = () => {
        throw new DOMException("no room", "QuotaExceededError"); };""")
    page = context.new_page()
    page.route("**/edits", lambda route: route.abort())
    page.goto("/walkin")
    page.wait_for_selector("html.js")
    page.fill("#a-customer_name", "Ada Brandt")
    page.wait_for_selector("#saved[data-state=full]")
    assert "no room" in page.inner_text("#saved")
    page.unroute("**/edits")
    page.evaluate(ONLINE)
    page.wait_for_selector("#saved[data-state=saved]")
    context.close()


def test_without_a_database_it_saves_as_ever(staff: Any) -> None:
    context = staff()
    context.add_init_script("Object.defineProperty(window, 'indexedDB', { value: undefined });")
    page = context.new_page()
    page.goto("/walkin")
    page.wait_for_selector("html.js")
    page.fill("#a-customer_name", "Ada Brandt")
    page.wait_for_selector("#saved[data-state=saved]")
    page.reload()
    assert page.input_value("#a-customer_name") == "Ada Brandt"
    context.close()


def cut(phone: Any) -> None:
    """Nothing gets through any more, but what the phone's own worker has."""
    phone.page.route("**/edits", lambda route: route.abort())
    phone.page.route("**/summary", lambda route: route.abort())
    phone.page.route("**/ping", lambda route: route.abort())


def mended(phone: Any) -> None:
    phone.page.unroute_all()
    phone.page.evaluate(ONLINE)


def restring_priced(walkin: Any) -> None:
    """A walk-in that has its price, at the last step."""
    walkin.go_to("instrument")
    walkin.tap("label:has([value=ukulele])")
    walkin.go_to("player")
    walkin.tap("label:has([name=complaints][value=restring])")
    walkin.go_to("quote")
    walkin.page.wait_for_selector("#summary .offer, #summary table")


def test_without_a_line_no_old_price_stands_and_the_way_on_is_told(walkin: Any, until: Any) -> None:
    page = walkin.page
    restring_priced(walkin)
    priced = page.inner_text("#range")
    assert any(sign.isdigit() for sign in priced)
    cut(walkin)
    page.evaluate("location.hash = 'player'")
    walkin.tap("label:has([name=complaints]):not(:has([value=restring]))")
    until(page, "document.getElementById('range').textContent === '–'")
    page.evaluate("location.hash = 'quote'")
    page.wait_for_selector("#unpriced:not([hidden])")
    assert page.is_hidden("#summary")
    walkin.next()
    until(page, "document.activeElement.id === 'unpriced'")
    walkin.shoot("unpriced")
    assert page.is_visible("#unpriced a[href$='/walkin']") and "by itself" in page.inner_text("#unpriced")
    mended(walkin)
    page.wait_for_selector("#summary:not([hidden]) .offer, #summary:not([hidden]) table")
    until(page, "document.getElementById('range').textContent !== '–'")
    assert page.is_hidden("#unpriced")
    page.evaluate("document.dispatchEvent(new Event('part:failed'))")  # a late word of the dead line
    assert page.inner_text("#range") == "–"
    until(page, "document.getElementById('range').textContent !== '–'")


def test_a_quote_is_not_handed_over_into_a_dead_line(walkin: Any, until: Any) -> None:
    page = walkin.page
    restring_priced(walkin)
    cut(walkin)
    walkin.next()
    page.wait_for_selector("#unpriced:not([hidden])")
    first = page.inner_text("#tried")
    assert first.startswith("Tried at ")
    page.wait_for_timeout(1100)
    walkin.next()
    until(page, "first => !['', first].includes(document.getElementById('tried').textContent)", first)
    walkin.shoot("dead line, tried again")
    mended(walkin)
    page.wait_for_selector("#summary:not([hidden]) .offer, #summary:not([hidden]) table")
    assert page.text_content("#tried") == ""
    with page.expect_navigation():
        walkin.next()
    assert "/quotes/1" in page.url


def test_a_ticket_opens_where_it_is_gone_on_with(walkin: Any) -> None:
    page = walkin.page
    walkin.write("#a-customer_name", "Ada Brandt")
    page.evaluate("location.hash = 'instrument'")
    walkin.tap("label:has([value=ukulele])")
    walkin.saved()
    ticket = page.url.split("#")[0]
    page.goto("/")
    page.goto(ticket)
    page.wait_for_selector("#player.now")
    assert page.inner_text("#count") == "3"
