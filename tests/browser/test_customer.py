"""From sending to yes, as staff and as the customer would go, on a phone and on a desk."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode
from urllib.request import Request, urlopen
from uuid import uuid4

import pytest

from intake.book.answers import to_fields
from tests.memo import sample_book

pytestmark = pytest.mark.browser
ROOT = Path(__file__).parents[2]
AXE = (Path(__file__).parent / "vendor/axe-core/axe.min.js").read_text("utf-8")
VIOLATIONS = """async () => {
  const found = await axe.run(document, { resultTypes: ["violations"] });
  return found.violations.map(({ id, nodes }) => [id, nodes.slice(0, 3).map(node => node.html)]);
}"""
DESK = {"viewport": {"width": 1280, "height": 900}}
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


def post(url: str, form: list[tuple[str, str]], cookies: dict[str, str]) -> str:
    """Where it led."""
    headers = {"Idempotency-Key": str(uuid4()), "Device": "test"}
    headers["Cookie"] = "; ".join(f"{name}={token}" for name, token in cookies.items())
    request = Request(url, urlencode(form).encode(), headers)
    with urlopen(request) as answer:
        return str(answer.url)


@pytest.fixture
def quoted(address: str, cookies: dict[str, str]) -> str:
    """The frozen quote of the old flat top, taken down by another phone."""
    book = sample_book()
    case = tomllib.loads((ROOT / "pricing_demo/walkins/03-old-flat-top-neck-reset.toml").read_text("utf-8"))
    pairs, ticket = to_fields(book, case["answers"]), str(uuid4())
    for step in book.steps:
        fields = [pair for pair in pairs if book.questions[pair[0].split(".")[0]].step == step.id]
        passed = "" if fields or step.always else "not_assessed"
        form = [*fields, ("based_on", "0"), ("passed", passed)]
        post(f"{address}/tickets/{ticket}/steps/{step.id}", form, cookies)
    return post(f"{address}/tickets/{ticket}/quotes", [], cookies)


class Person:
    """Somebody with a browser; what their page complains of fails the test."""

    def __init__(self, context: Any) -> None:
        self.page = context.new_page()
        self.complaints: list[str] = []
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("console", lambda line: line.type == "error" and self.complaints.append(line.text))

    def shot(self, name: str) -> None:
        if folder := os.environ.get("SHOTS"):
            self.page.screenshot(path=f"{folder}/{name}.png", full_page=True)


@pytest.fixture
def person(chromium: Any, address: str, staff: Any) -> Iterator[Any]:
    """Makes a person with that screen, a customer unless they work here."""
    made: list[tuple[Any, Person]] = []

    def make(works_here: bool = False, **screen: Any) -> Person:
        context = staff(**screen) if works_here else chromium.new_context(base_url=address, **screen)
        made.append((context, Person(context)))
        return made[-1][1]

    yield make
    for context, one in made:
        context.close()
        assert not one.complaints


def new_link(staff: Person, quoted: str) -> str:
    staff.page.goto(f"{quoted}/send")
    staff.page.get_by_role("button", name="Make a link").click()
    staff.page.wait_for_selector("#fresh-link")
    return str(staff.page.input_value("#fresh-link"))


def total(person: Person) -> str:
    return str(person.page.inner_text(".sum .total dd"))


@pytest.mark.parametrize(
    "screen", [pytest.param(PHONE, marks=pytest.mark.main_path), DESK], ids=["phone", "desk"]
)
def test_from_link_to_yes(person: Any, quoted: str, screen: Any, until: Any, request: Any) -> None:
    name = request.node.callspec.id
    staff, customer = person(works_here=True, **PHONE), person(**screen)
    customer.page.goto(new_link(staff, quoted))
    page = customer.page
    customer.shot(f"customer-{name}")
    page.goto(f"{page.url}?lang=fr")
    customer.shot(f"customer-{name}-fr")
    page.goto(page.url.removesuffix("?lang=fr"))
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    before = total(customer)
    page.locator("#pick-neck-reset").click()
    until(page, "before => document.querySelector('.sum .total dd').innerText !== before", before)
    assert page.locator("[data-job=fret-level-crown].out").count()
    page.locator("#way-put_right, #way-playable").last.click()
    until(page, "before => document.querySelector('.sum .total dd').innerText === before", before)
    page.fill("#ask-words", "Is the finish touched?")
    page.get_by_role("button", name="Send the question").click()
    page.wait_for_selector(".mine")
    page.fill("#yes-name", "Rose Okafor")
    page.check("[name=agreed]")
    page.locator("#yes .go").click()
    page.wait_for_selector(".agreed")
    customer.shot(f"customer-{name}-agreed")
    assert "Rose Okafor said yes" in page.inner_text(".agreed") and before in page.inner_text(".agreed")
    with page.expect_download() as download:
        page.get_by_role("link", name="Put the day in my calendar").click()
    assert download.value.suggested_filename.endswith(".ics")
    staff.page.goto(f"{quoted}/send")
    staff.shot(f"staff-{name}-agreed")
    heard = staff.page.inner_text("main")
    assert "Rose Okafor said yes" in heard and "Is the finish touched?" in heard and "opened" in heard


def test_the_papers_of_a_ticket(person: Any, quoted: str, request: Any) -> None:
    """Receipt, tag and bench sheet from the quote's page; the customer's language is chosen there."""
    staff = person(works_here=True, **PHONE)
    page = staff.page
    page.goto(quoted)
    staff.shot("staff-quote")
    page.get_by_role("link", name="Bench sheet, tag, receipt").click()
    page.wait_for_selector(".paper")
    page.get_by_role("button", name="Français").click()
    page.wait_for_selector("[value=fr][aria-pressed=true]")
    staff.shot("staff-papers")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    small = page.eval_on_selector_all(
        "main .btn",
        "all => all.filter(one => one.getBoundingClientRect().height < 48).map(one => one.innerText)",
    )
    assert small == []
    for name in ("Label 62 × 100 mm", "A4, to cut"):
        link = page.get_by_role("link", name=name).get_attribute("href")
        assert page.request.get(link).body().startswith(b"%PDF-")
    page.goto(f"{quoted}/send")
    staff.shot("staff-send")
    assert page.input_value("#link-language") == "fr"


def test_the_board_follows_the_customer(person: Any, quoted: str, until: Any) -> None:
    """Without a reload: sent, seen, chosen, question, said yes."""
    staff, board = person(works_here=True, **PHONE), person(works_here=True, **PHONE)
    customer = person(**PHONE)
    link = new_link(staff, quoted)
    board.page.goto("/")
    board.page.evaluate("window.sameDocument = true")
    row = f"main > .tickets a[href*='{quoted.split('/')[-3]}'] .pill"

    def shows(word: str) -> None:
        board.page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
        until(board.page, "([row, word]) => document.querySelector(row)?.innerText === word", [row, word])

    shows("sent")
    customer.page.goto(link)
    shows("seen")
    customer.page.locator("#pick-condition-report").click()
    shows("chosen")
    customer.page.fill("#ask-words", "Is the finish touched?")
    customer.page.get_by_role("button", name="Send the question").click()
    customer.page.wait_for_selector(".mine")
    shows("question")
    customer.page.fill("#yes-name", "Rose Okafor")
    customer.page.check("[name=agreed]")
    customer.page.locator("#yes .go").click()
    customer.page.wait_for_selector(".agreed")
    shows("said yes")
    assert board.page.evaluate("window.sameDocument")
    board.shot("board-said-yes")


@pytest.mark.parametrize("screen", [PHONE, DESK], ids=["phone", "desk"])
def test_a_no_with_its_reason_and_a_revised_quote_that_asks_anew(
    person: Any, quoted: str, screen: Any, cookies: dict[str, str]
) -> None:
    staff, customer = person(works_here=True, **PHONE), person(**screen)
    link = new_link(staff, quoted)
    page = customer.page
    page.goto(link)
    page.locator("#no summary").click()
    page.fill("#no-reason", "Too dear for me just now.")
    page.get_by_role("button", name="No, do not do this work").click()
    page.wait_for_selector(".mine")
    staff.page.goto(f"{quoted}/send")
    assert "Too dear for me just now." in staff.page.inner_text(".heard")
    ticket = quoted[: quoted.index("/quotes/")]
    staff.page.goto(ticket)
    shown = staff.page.get_attribute("#r-customer", "value") or ""
    form = [("customer_name", "Rose Okafor"), ("based_on", shown), ("passed", "")]
    post(f"{ticket}/steps/customer", form, cookies)
    newer = post(f"{ticket}/quotes", [], cookies)
    page.goto(link)
    assert "Something changed since this quote was sent" in page.inner_text("main")
    assert not page.locator("#yes").count()
    page.goto(new_link(staff, newer))
    assert page.locator("#yes").count() == 1


def test_a_finger_signs_at_the_counter(person: Any, quoted: str) -> None:
    staff = person(works_here=True, **PHONE)
    page = staff.page
    page.goto(f"{quoted}/goahead")
    page.fill("#yes-name", "Rose Okafor")
    pad = page.locator(".sign canvas")
    pad.scroll_into_view_if_needed()
    box = pad.bounding_box()
    page.mouse.move(box["x"] + 30, box["y"] + 40)
    page.mouse.down()
    for step in range(12):
        page.mouse.move(box["x"] + 30 + 20 * step, box["y"] + 40 + 30 * (step % 2))
    page.mouse.up()
    staff.shot("staff-signing")
    page.locator("#yes .go").click()
    page.wait_for_selector(".signed svg polyline")
    assert "At the counter." in page.inner_text(".agreed")


def test_without_script_every_answer_still_works(
    chromium: Any, address: str, person: Any, quoted: str
) -> None:
    link = new_link(person(works_here=True, **PHONE), quoted)
    context = chromium.new_context(base_url=address, java_script_enabled=False, **PHONE)
    page = context.new_page()
    page.goto(link)
    before = page.inner_text(".sum .total dd")
    page.locator("#pick-condition-report").click()
    page.wait_for_load_state()
    assert page.inner_text(".sum .total dd") != before
    page.fill("#yes-name", "Rose Okafor")
    page.check("[name=agreed]")
    page.locator("#yes .go").click()
    page.wait_for_selector(".agreed")
    context.close()


@pytest.mark.parametrize("screen", [PHONE, DESK], ids=["phone", "desk"])
def test_no_page_breaks_a_rule_of_accessibility(person: Any, quoted: str, screen: Any) -> None:
    """axe-core, as on the counter's own screens; with every fold open, before and after the yes."""
    staff = person(works_here=True, **screen)
    page = staff.page
    link = new_link(staff, quoted)

    def check(where: str) -> None:
        page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
        page.evaluate(AXE)
        assert page.evaluate(VIOLATIONS) == [], where

    check("send, with a link")
    papers = f"{quoted[: quoted.index('/quotes/')]}/papers"
    for place in (link, f"{link}?lang=fr", f"{quoted}/goahead", quoted, papers):
        page.goto(place)
        check(place)
    page.goto(link)
    page.fill("#yes-name", "Rose Okafor")
    page.check("[name=agreed]")
    page.locator("#yes .go").click()
    page.wait_for_selector(".agreed")
    check("agreed")
    page.goto(f"{quoted}/send")
    check("send, agreed")
