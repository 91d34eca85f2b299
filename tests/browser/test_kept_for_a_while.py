"""How long a phone keeps what did not arrive: said beforehand, never silently; else by another phone."""

from __future__ import annotations

import base64
import io
import json
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from intake.store import devices, edits, people, revisions, sessions

pytestmark = pytest.mark.browser
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
HOW_MANY = """() => new Promise((resolve, reject) => {
  const opening = indexedDB.open("tallyfret-edits");
  opening.onerror = reject;
  opening.onsuccess = () => {
    const under = opening.result.transaction(["edits", "photos"]), found = [];
    for (const name of ["edits", "photos"]) {
      under.objectStore(name).getAll().onsuccess = ({ target }) => found.push(...target.result);
    }
    under.oncomplete = () => {
      opening.result.close();
      resolve(found.filter((one) => one.state !== "stored").length);
    };
  };
})"""
DRAFTS = HOW_MANY.replace('"photos"', '"drafts"')
NEVER_ARRIVES = "**/tickets/*/**"


def picture() -> dict[str, Any]:
    content = io.BytesIO()
    Image.new("RGB", (40, 30), "#885522").save(content, "JPEG")
    return {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": content.getvalue()}


@pytest.fixture
def held(chromium: Any, shop: Any) -> Any:
    """Makes an enrolled phone of a shop whose store can be looked into."""
    made: list[Any] = []

    def make(cookies: dict[str, str] | None = None) -> Any:
        context = chromium.new_context(base_url=shop.url, **PHONE)
        cookies = shop.cookies if cookies is None else cookies
        context.add_cookies(
            [{"name": name, "value": token, "url": shop.url} for name, token in cookies.items()]
        )
        made.append(context)
        return context

    yield make
    for context in made:
        context.close()


def begin(page: Any, until: Callable[..., None], name: str = "Ada Brandt") -> None:
    """A walk-in with a photo of which nothing arrives."""
    page.route(NEVER_ARRIVES, lambda route: route.abort())
    page.goto("/walkin")
    page.wait_for_selector("html.js")
    page.fill("#a-customer_name", name)
    page.evaluate("location.hash = 'originality-and-photos'")
    page.set_input_files("[name=photos][multiple]", picture())
    until(page, f"async () => await ({HOW_MANY})() === 2")


def later(context: Any, **by: float) -> Any:
    """A page of that phone with the clock put forward, on the board that nothing leaves."""
    page = context.new_page()
    ahead = int(timedelta(**by).total_seconds() * 1000)
    page.add_init_script(f"const real = Date.now; Date.now = () => real() + {ahead};")
    page.route(NEVER_ARRIVES, lambda route: route.abort())
    page.goto("/")
    return page


def wiped(page: Any, until: Callable[..., None], *said: str) -> None:
    """The board, which may load itself anew meanwhile, says what was wiped; the phone keeps nothing of it."""
    until(
        page,
        """(said) => {
          const place = document.getElementById("wiped");
          return place && !place.hidden && said.every((part) => place.textContent.includes(part));
        }""",
        [*said, "1 answer, 1 photo"],
    )
    until(page, "() => !document.documentElement.outerHTML.includes('Ada Brandt')")
    for kept in (HOW_MANY, DRAFTS):
        until(page, f"async () => await ({kept})() === 0")


def test_a_withdrawn_phone_says_what_goes_and_when_and_keeps_nothing_after_that(
    held: Any, shop: Any, until: Any
) -> None:
    context = held()
    page = context.new_page()
    begin(page, until)
    with shop.ctx.store.writing() as db:
        (device,) = devices.every(db)
        devices.revoke(db, device.id, shop.ctx.now())
    page.unroute(NEVER_ARRIVES)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    page.wait_for_selector("#saved[data-state=revoked]")
    page.goto("/")
    page.wait_for_selector("[data-wipe] button")
    why = page.inner_text("[data-why]")
    assert "withdrawn" in why and "wiped at" in why
    assert page.evaluate(HOW_MANY) == 2
    with page.expect_download():
        page.tap("[data-export]")
    page.close()
    after = later(context, hours=1, minutes=1)
    wiped(after, until, "withdrawn")
    assert shop.ctx.store.db.table("tickets").count == 0  # nothing of a withdrawn phone has arrived
    after.wait_for_load_state("networkidle")
    after.tap("#wiped button")
    after.reload()
    until(after, "document.getElementById('kept').hidden")
    assert after.is_hidden("#wiped")


def test_a_ticket_left_open_on_a_withdrawn_phone_goes_to_the_board_when_its_hour_is_over(
    held: Any, shop: Any, until: Any
) -> None:
    page = held().new_page()
    page.add_init_script(
        "const real = window.setInterval; window.setInterval = (work, ms) => real(work, Math.min(ms, 200))"
    )
    begin(page, until)
    with shop.ctx.store.writing() as db:
        devices.revoke(db, devices.every(db)[0].id, shop.ctx.now())
    page.unroute(NEVER_ARRIVES)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    page.wait_for_selector("#saved[data-state=revoked]")
    page.wait_for_timeout(600)
    assert page.is_visible("#originality-and-photos") and page.evaluate(HOW_MANY) == 2
    page.evaluate("localStorage.setItem('withdrawn at', Date.now() - 3600001)")
    wiped(page, until, "withdrawn")


def test_a_phone_enrolled_anew_within_its_hour_sends_what_it_kept(
    held: Any, shop: Any, until: Any, badge: Any
) -> None:
    context = held()
    page = context.new_page()
    begin(page, until)
    with shop.ctx.store.writing() as db:
        devices.revoke(db, devices.every(db)[0].id, shop.ctx.now())
    page.unroute(NEVER_ARRIVES)
    page.goto("/")
    page.wait_for_selector("[data-wipe] button")
    again = badge(shop.ctx, phone="Front again")
    context.add_cookies([{"name": name, "value": token, "url": shop.url} for name, token in again.items()])
    page.goto("/")
    page.wait_for_selector("main > .tickets:has-text('Ada Brandt')")
    until(page, f"async () => await ({HOW_MANY})() === 0")
    assert page.evaluate("localStorage.getItem('withdrawn at')") is None


def test_old_entries_are_announced_and_go_only_on_the_day_that_was_named(held: Any, until: Any) -> None:
    context = held()
    page = context.new_page()
    begin(page, until)
    page.close()
    fresh = later(context, days=6)
    fresh.wait_for_selector("#kept:not([hidden])")
    assert "more than a week" not in fresh.inner_text("[data-why]")
    fresh.close()
    # Nobody has looked for 40 days: what is due is named first, and stays for three days more.
    for days, left in ((40, 2), (42, 2)):
        page = later(context, days=days)
        page.wait_for_selector("#kept:not([hidden])")
        until(page, "document.querySelector('[data-why]').textContent.includes('more than a week')")
        page.wait_for_timeout(300)
        assert page.is_hidden("#wiped") and page.evaluate(HOW_MANY) == left
        page.close()
    page = later(context, days=44)
    wiped(page, until, "30 days")


def test_a_session_that_ended_keeps_the_entry_and_another_member_of_staff_sends_it(
    held: Any, shop: Any, until: Any, badge: Any
) -> None:
    context = held()
    page = context.new_page()
    begin(page, until)
    with shop.ctx.store.writing() as db:
        noor = people.named(db, "Noor Amari")
        assert noor
        sessions.end_of(db, "person", noor.id, shop.ctx.now())
    page.unroute(NEVER_ARRIVES)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    page.wait_for_selector("#saved[data-state=signin]")
    assert "Sign in to send what is kept" in page.inner_text("#saved")
    assert page.evaluate(HOW_MANY) == 2
    other = badge(shop.ctx, "bench", "Ida Moreau")
    context.add_cookies([{"name": name, "value": token, "url": shop.url} for name, token in other.items()])
    page.goto("/")
    page.wait_for_selector("main > .tickets:has-text('Ada Brandt')")
    until(page, f"async () => await ({HOW_MANY})() === 0")
    assert shop.ctx.store.db.table("photos").count == 1
    (ticket,) = shop.ctx.store.db.table("tickets").rows
    (name,) = edits.of_part(shop.ctx.store.db, ticket["id"], "customer_name")
    assert (name.value, name.who) == ("Ada Brandt", "Ida Moreau")


def without_question(checklist: str, id: str) -> str:
    blocks = checklist.split("[[question]]")
    return "[[question]]".join(block for block in blocks if f'id = "{id}"' not in block)


def test_a_book_that_no_longer_asks_loses_no_answer_of_a_phone_out_of_reach(
    held: Any, shop: Any, until: Any
) -> None:
    page = held().new_page()
    page.route(NEVER_ARRIVES, lambda route: route.abort())
    page.goto("/walkin")
    page.wait_for_selector("html.js")
    page.evaluate("location.hash = 'instrument'")
    page.tap("label:has([value=ukulele])")
    page.fill("#a-serial", "S 4711")
    until(page, f"async () => await ({HOW_MANY})() === 2")
    ctx = shop.ctx
    before = revisions.in_force(ctx.store.db)
    assert before
    files = dict(revisions.files_of(ctx.store.db, before.number))
    files["checklist.toml"] = without_question(files["checklist.toml"].decode(), "serial").encode()
    with ctx.store.writing() as db:
        revisions.put_in_force(db, "0" * 64, files, ctx.now(), "edit")
    page.wait_for_timeout(1000)
    page.unroute(NEVER_ARRIVES)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    until(page, f"async () => await ({HOW_MANY})() === 0")
    assert "serial" not in ctx.book.questions
    (ticket,) = ctx.store.db.table("tickets").rows
    standing = edits.standing(ctx.store.db, ticket["id"])
    assert standing["family"].value == "ukulele" and standing["serial"].value == "S 4711"


def test_what_a_phone_exported_comes_in_through_another_and_only_once(
    held: Any, shop: Any, until: Any, tmp_path: Path
) -> None:
    page = held().new_page()
    begin(page, until)
    page.goto("/")
    with page.expect_download() as download:
        page.tap("[data-export]")
    download.value.save_as(tmp_path / "phone.json")
    other = held().new_page()
    for _ in range(2):  # the second time changes nothing
        other.goto("/from-phone")
        other.set_input_files("#bring input", tmp_path / "phone.json")
        other.wait_for_selector("#told:has-text('Brought in: 2')")
        until(other, f"async () => await ({HOW_MANY})() === 0")
    page.unroute(NEVER_ARRIVES)
    page.tap("[data-send]")  # and the first phone gets its line back after all
    until(page, f"async () => await ({HOW_MANY})() === 0")
    db = shop.ctx.store.db
    (ticket,) = db.table("tickets").rows
    assert ticket["name"] == "Ada Brandt"
    given = [row.part.partition("/")[0] for row in edits.of_ticket(db, ticket["id"])]
    assert sorted(given) == ["customer_name", "photos"]
    assert db.table("photos").count == 1


def test_what_is_brought_in_replaces_nothing_of_this_phones_own(
    held: Any, shop: Any, until: Any, tmp_path: Path
) -> None:
    """Both phones wrote the same step without a line: the second to arrive clashes, whoever brings it."""
    page = held().new_page()
    begin(page, until)
    ticket = page.evaluate("location.pathname").rpartition("/")[2]
    mine = {
        "key": "0190a1b2-0000-7000-8000-000000000009", "ticket": ticket, "kind": "step", "step": "customer",
        "url": f"/tickets/{ticket}/steps/customer",
        "pairs": [["customer_name", "Ada Brand"], ["based_on", "0"], ["passed", ""]], "created": 1,
    }  # fmt: skip
    content = {"device": "0190a1b2-0000-7000-8000-00000000000a", "entries": [mine], "drafts": []}
    (tmp_path / "phone.json").write_text(json.dumps(content))
    page.goto("/from-phone")
    page.set_input_files("#bring input", tmp_path / "phone.json")
    page.wait_for_selector("#told:has-text('Brought in: 1')")
    page.unroute(NEVER_ARRIVES)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    until(page, f"async () => await ({HOW_MANY})() === 0")
    until(page, "async () => !(await indexedDB.databases()).some(({ name }) => name === 'tallyfret')")
    db = shop.ctx.store.db
    given = {(row.value, row.device) for row in edits.of_part(db, ticket, "customer_name")}
    assert {value for value, _ in given} == {"Ada Brandt", "Ada Brand"}
    assert ("Ada Brand", content["device"]) in given
    assert edits.standing(db, ticket)["customer_name"].is_open


@pytest.mark.parametrize("damage", ["nothing", "address", "photo", "half"])
def test_a_file_that_is_none_brings_nothing_in(held: Any, shop: Any, tmp_path: Path, damage: str) -> None:
    ticket = "0190a1b2-0000-7000-8000-000000000001"
    good = {
        "key": "0190a1b2-0000-7000-8000-000000000002", "ticket": ticket, "kind": "step", "step": "customer",
        "url": f"/tickets/{ticket}/steps/customer", "pairs": [["customer_name", "Ada"]], "created": 1,
    }  # fmt: skip
    bad = {
        "address": {**good, "url": "/people/phones"},
        "photo": {**good, "kind": "photo", "base64": base64.b64encode(b"x").decode() + "%"},
        "half": {**good, "pairs": None},
    }.get(damage, {})
    content = {"device": ticket, "entries": [good, bad], "drafts": []} if bad else {"something": "else"}
    (tmp_path / "phone.json").write_text(json.dumps(content))
    page = held().new_page()
    page.goto("/from-phone")
    page.set_input_files("#bring input", tmp_path / "phone.json")
    page.wait_for_selector("#told:has-text('Nothing was brought in')")
    assert page.evaluate(HOW_MANY) == 0
    assert shop.ctx.store.db.table("tickets").count == 0
