"""The owner's screens in a real browser: a rate raised, weighed, saved and taken back; an old quote keeps its
price."""

from __future__ import annotations

import io
import json
import os
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from pypdf import PdfReader
from werkzeug.datastructures import MultiDict

from intake.app import create_app
from intake.book.answers import to_fields
from intake.config import Settings, demo_book
from intake.demo.run import serving
from intake.i18n.formats import money
from intake.services.context import Context
from intake.store import quotes, revisions

pytestmark = pytest.mark.browser
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
AXE = (Path(__file__).parent / "vendor/axe-core/axe.min.js").read_text("utf-8")
VIOLATIONS = """async () => {
  const found = await axe.run(document, { resultTypes: ["violations"] });
  return found.violations.map(({ id, nodes }) => [id, nodes.slice(0, 3).map(node => node.html)]);
}"""
SMALLER = """least => [...document.querySelectorAll("a, button, summary, select, textarea, input")]
  .filter(one => one.type !== "hidden" && one.checkVisibility() && !one.matches(".choices input"))
  .map(one => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])
  .filter(([, box]) => box.height < least - 0.5).map(([name, box]) => `${name} ${box.height}`)"""


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[tuple[str, Any]]:
    """A shop of its own: its address and its app."""
    app = create_app(Settings(tmp_path / "shop", demo_book()))
    with serving(lambda: app, 0) as running:
        yield running.url.rstrip("/"), app


@pytest.fixture
def page(chromium: Any, shop: tuple[str, Any], badge: Any) -> Iterator[Any]:
    """The owner's phone. What its pages complain of fails the test."""
    url, app = shop
    context = chromium.new_context(base_url=url, **PHONE)
    cookies = badge(app.extensions["context"], "owner")
    context.add_cookies([{"name": name, "value": token, "url": url} for name, token in cookies.items()])
    page: Any = context.new_page()
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("console", lambda line: complaints.append(line.text) if "Content Security" in line.text else None)
    yield page
    context.close()
    assert not complaints


def quoted(app: Any, cookies: dict[str, str], number: str) -> str:
    """A sample walk-in taken down and its quote frozen; the ticket."""
    client, ticket = app.test_client(), str(uuid4())
    for name, token in cookies.items():
        client.set_cookie(name, token)
    (path,) = (demo_book() / "walkins").glob(f"{number}-*.toml")
    book = app.extensions["context"].book
    pairs = to_fields(book, tomllib.loads(path.read_text("utf-8"))["answers"])
    for step in book.steps:
        fields = [pair for pair in pairs if book.questions[pair[0].split(".")[0]].step == step.id]
        form = MultiDict([*fields, ("based_on", "0"), ("passed", "" if fields else "not_assessed")])
        assert client.post(f"/tickets/{ticket}/steps/{step.id}", data=form).status_code in (200, 422)
    assert client.post(f"/tickets/{ticket}/quotes").status_code == 303
    return ticket


def look(page: Any, name: str) -> None:
    """Nothing that axe-core can find; everything as high as a thumb needs; nothing wider than the phone."""
    if not page.evaluate("Boolean(window.axe)"):
        page.evaluate(AXE)
    if folder := os.environ.get("SHOTS"):
        page.screenshot(path=f"{folder}/owner-{name}.png", full_page=True)
    for scheme in ("dark", "light"):
        page.emulate_media(color_scheme=scheme)
        assert page.evaluate(VIOLATIONS) == [], (name, scheme)
    assert page.evaluate(SMALLER, 44) == [], name
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), name


def tap(page: Any, role: str, name: str) -> None:
    """Touch what leads to another page, and wait for it."""
    with page.expect_navigation():
        page.get_by_role(role, name=name, exact=True).first.tap()


def printed(page: Any, address: str) -> str:
    content = page.context.request.get(address).body()
    return " ".join(leaf.extract_text() for leaf in PdfReader(io.BytesIO(content)).pages)


def test_the_rate_is_raised_weighed_saved_and_taken_back(
    page: Any, shop: tuple[str, Any], badge: Any
) -> None:
    _, app = shop
    ctx: Context = app.extensions["context"]
    tickets = [quoted(app, badge(ctx, "counter"), number) for number in ("01", "03")]
    first = quotes.latest(ctx.store.db, tickets[1])
    assert first
    old = f"/tickets/{tickets[1]}/quotes/1"
    page.goto("/")
    tap(page, "link", "The book")
    look(page, "overview")
    tap(page, "link", "Money $72.00 an hour, taxes, deposit, rounding")
    look(page, "money")
    rate = page.get_by_label("Labour rate, an hour")
    assert rate.input_value() == "72"
    rate.fill("90")
    tap(page, "button", "See what it does")
    page.wait_for_selector("#effect")
    look(page, "effect")
    assert "Labour rate, an hour: 72 → 90" in page.inner_text("main")
    assert page.locator("#effect h2").inner_text() == "The last 2 quotes would have been"
    before, after = page.locator(".sum").inner_text().split(" → ")
    assert before != after and page.get_by_role("heading", name="Biggest rises").is_visible()
    tap(page, "link", "Go back")
    assert page.get_by_text("Not in force yet").is_visible() and ctx.book.shop.labour_rate == 72
    look(page, "drafted")
    tap(page, "link", "See what it does")
    tap(page, "button", "Save")
    page.wait_for_selector("[role=status]")
    look(page, "saved")
    assert ctx.book.shop.labour_rate == 90
    total = money(desk_total(ctx, tickets[1]), "USD", "en_US")
    assert total in printed(page, f"{old}.pdf?paper=a4")
    page.goto(old)
    assert total in page.inner_text("main")
    page.goto("/book/")
    tap(page, "button", "Take back Book 2")
    page.wait_for_selector("#effect")
    look(page, "back")
    tap(page, "button", "Save")
    page.wait_for_selector("[role=status]")
    assert ctx.book.shop.labour_rate == 72
    assert [one.kind for one in revisions.latest(ctx.store.db, 9)] == ["back", "edit", "start"]
    assert ctx.book.digest == first.book_digest
    assert total in printed(page, f"{old}.pdf")


def desk_total(ctx: Context, ticket: str) -> str:
    frozen = quotes.find(ctx.store.db, ticket, 1)
    assert frozen
    return str(json.loads(frozen.quote)["offers"]["put_right"]["total"])


def test_every_screen_under_a_thumb(page: Any, shop: tuple[str, Any], until: Any) -> None:
    ctx: Context = shop[1].extensions["context"]
    page.goto("/book/hours")
    look(page, "hours")
    page.fill("[name=tue]", "18-10")
    tap(page, "button", "See what it does")
    assert page.locator("#tue-problem").is_visible() and page.input_value("[name=tue]") == "18-10"
    look(page, "hours-refused")
    page.goto("/book/jobs")
    look(page, "jobs")
    page.fill("#q", "set-up")
    until(page, "() => { const n = document.querySelectorAll('#found li').length; return n > 0 && n < 12 }")
    page.locator("#found a").first.tap()
    page.wait_for_selector("#form")
    page.locator("summary").tap()
    look(page, "job")
    page.get_by_label("Hours, as usual").fill("99")
    tap(page, "button", "See what it does")
    page.wait_for_selector("[aria-invalid=true]")
    look(page, "job-refused")
    page.goto("/book/parts")
    look(page, "parts")
    page.goto("/book/tables")
    look(page, "tables")
    page.goto("/book/tables/tables/nut.csv")
    look(page, "table")
    page.locator("tbody a").first.tap()
    page.wait_for_selector("#form")
    look(page, "row")
    with page.expect_navigation():
        page.get_by_role("button", name="Move down").tap()
    assert page.url.split("/book")[1].startswith("/tables/tables/nut.csv#r")
    look(page, "table-drafted")
    page.goto("/book/")
    tap(page, "button", "Drop these changes")
    assert [one.number for one in revisions.latest(ctx.store.db, 9)] == [1]


def test_a_table_on_a_desk(page: Any) -> None:
    page.set_viewport_size({"width": 1280, "height": 800})
    for address, name in (
        ("tables/targets.csv", "desk-table"),
        ("money", "desk-money"),
        ("", "desk-overview"),
    ):
        page.goto(f"/book/{address}")
        look(page, name)


def test_a_question_and_a_table_are_made_on_a_phone(page: Any, shop: tuple[str, Any]) -> None:
    page.goto("/book/")
    tap(page, "link", "Questions what the counter asks, step by step")
    look(page, "questions")
    tap(page, "link", "Add a question")
    for name, typed in (
        ("id", "tailpiece"),
        ("label", "Tailpiece"),
        ("values", "sound | Sound\nloose | Loose"),
    ):
        page.fill(f"[name={name}]", typed)
    page.select_option("[name=step]", "hardware-and-wiring")
    page.get_by_text("Who is asked, and when").tap()
    page.locator("[name=families][value=floating]").check()
    look(page, "new-question")
    tap(page, "button", "Take in")
    assert page.locator("#tailpiece").is_visible()

    page.goto("/book/new-table")
    look(page, "new-table-empty")
    tap(page, "button", "Add the table")
    look(page, "new-table-refused")
    for name, typed in (("name", "tailpiece"), ("fact0", "rod"), ("test0", "none"), ("finding", "no_rod")):
        page.fill(f"[name={name}]", typed)
    page.fill("[name=says]", "It has no rod.")
    tap(page, "button", "Add the table")
    look(page, "new-table")

    assert page.get_by_role("cell", name="no_rod").is_visible()
