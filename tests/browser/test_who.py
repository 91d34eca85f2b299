"""Who is who in a real browser: the first start, a phone enrolled, a PIN under a thumb, a switch, the end."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from intake.app import create_app
from intake.config import Settings
from intake.demo.run import serving
from intake.store import devices, edits, events, people, sessions

pytestmark = pytest.mark.browser
ROOT = Path(__file__).parents[2]
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
AXE = (Path(__file__).parent / "vendor/axe-core/axe.min.js").read_text("utf-8")
VIOLATIONS = """async () => {
  const found = await axe.run(document, { resultTypes: ["violations"] });
  return found.violations.map(({ id, nodes }) => [id, nodes.slice(0, 3).map(node => node.html)]);
}"""
SMALLER = """least => [...document.querySelectorAll("a, button, summary, input:not([type=hidden])")]
  .filter(one => one.checkVisibility() && !one.matches(".choices input, .aside a, .board a"))
  .map(one => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])
  .filter(([, box]) => box.height < least - 0.5).map(([name, box]) => `${name} ${box.height}`)"""
PASSWORD = "seven brass tuners"
SETUP_CODE = "opened4once"


@pytest.fixture
def fresh(tmp_path: Path) -> Iterator[tuple[str, Any]]:
    """A shop that nobody has opened yet: its address and its desk."""
    app = create_app(Settings(tmp_path / "fresh", ROOT / "pricing_demo"))
    app.config["SETUP_CODE"] = SETUP_CODE
    with serving(lambda: app, 0) as running:
        yield running.url.rstrip("/"), app.extensions["context"]


@pytest.fixture
def browser(chromium: Any, fresh: tuple[str, Any]) -> Iterator[Any]:
    """Makes a browser of somebody's own; what its pages complain of fails the test."""
    made: list[tuple[Any, list[str]]] = []

    def make(**options: Any) -> Any:
        context = chromium.new_context(base_url=fresh[0], **{**PHONE, **options})
        page, complaints = context.new_page(), list[str]()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("console", lambda line: "Content Security" in line.text and complaints.append(line.text))
        made.append((context, complaints))
        return page

    yield make
    for context, complaints in made:
        context.close()
        assert not complaints


def look(page: Any, name: str) -> None:
    """Nothing that axe-core can find; everything as high as a thumb needs; nothing wider than the phone."""
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
    if not page.evaluate("Boolean(window.axe)"):
        page.evaluate(AXE)
    for scheme in ("dark", "light"):
        page.emulate_media(color_scheme=scheme)
        assert page.evaluate(VIOLATIONS) == [], (name, scheme)
    assert page.evaluate(SMALLER, 48) == [], name
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), name
    if folder := os.environ.get("SHOTS"):
        page.screenshot(path=f"{folder}/who-{name}.png", full_page=True)


def set_up(page: Any) -> None:
    page.goto(f"/setup?code={SETUP_CODE}")
    page.fill("#name", "Mara Lindt")
    page.fill("#new-password", PASSWORD)
    page.fill("#again", PASSWORD)
    page.get_by_role("button", name="Open the shop").tap()
    page.wait_for_url("**/people")


def add(page: Any, name: str, pin: str, role: str = "counter") -> None:
    page.fill("#name", name)
    page.locator(f"label:has([value={role}])").tap()
    page.fill("#pin", pin)
    page.get_by_role("button", name="Add").tap()
    page.wait_for_selector(f".rows b:text-is('{name}')")


def enrol(owner: Any, phone: Any, name: str) -> None:
    owner.get_by_role("button", name="Enrol a phone").tap()
    owner.wait_for_selector(".picture svg")
    phone.goto(owner.get_attribute("a.address", "href"))
    phone.fill("#name", name)
    phone.get_by_role("button", name="Enrol this phone").tap()
    phone.wait_for_url("**/signin")


def tap_pin(phone: Any, name: str, pin: str) -> None:
    phone.get_by_role("link", name=name, exact=True).tap()
    for digit in pin:
        phone.locator(f"[data-key='{digit}']").tap()
    phone.get_by_role("button", name="OK").tap()


def test_from_the_first_start_to_a_withdrawn_phone(browser: Any, fresh: tuple[str, Any], until: Any) -> None:
    _, ctx = fresh
    owner, phone = browser(), browser()
    owner.goto("/")
    look(owner, "setup-code")
    owner.goto(f"/setup?code={SETUP_CODE}")
    look(owner, "setup")
    set_up(owner)
    add(owner, "Noor Amari", "4711")
    add(owner, "Ida Moreau", "271828", "bench")
    phone.goto("/")
    look(phone, "not-enrolled")
    enrol(owner, phone, "Front desk")
    look(owner, "people")
    look(phone, "names")
    tap_pin(phone, "Noor Amari", "0000")
    phone.wait_for_selector("[role=alert]")
    look(phone, "wrong-pin")
    assert phone.evaluate(
        "[...document.querySelectorAll('.pad button')].every(one => one.getBoundingClientRect().height >= 64)"
    )
    phone.get_by_role("link", name="Somebody else").tap()
    tap_pin(phone, "Noor Amari", "4711")
    phone.wait_for_selector(".whom")
    look(phone, "board")
    assert "Noor Amari" in phone.inner_text("header")

    phone.goto("/walkin")
    phone.wait_for_selector("html.js")
    phone.fill("#a-customer_name", "Rose Okafor")
    until(phone, "document.getElementById('saved').dataset.state === 'saved'")
    phone.evaluate("location.hash = 'neck'")
    phone.fill("#a-relief", "0.010 in")
    phone.locator("#steps-button").tap()
    phone.get_by_role("link", name="Somebody else takes over").tap()
    tap_pin(phone, "Ida Moreau", "271828")
    phone.wait_for_selector("#neck.now")
    assert phone.input_value("#a-relief") == "0.010 in"
    assert phone.input_value("#a-customer_name") == "Rose Okafor"
    phone.fill("#a-relief", "0.012 in")
    until(phone, "document.getElementById('saved').dataset.state === 'saved'")
    ticket = phone.url.split("/")[-1].split("#")[0]
    assert edits.standing(ctx.store.db, ticket)["relief"].value == "0.012 in"
    told = [(event["who"], event["device"]) for event in events.of_ticket(ctx.store.db, ticket)]
    assert told[0] == ("Noor Amari", "Front desk") and told[-1] == ("Ida Moreau", "Front desk")

    owner.goto("/people")
    owner.get_by_role("button", name="Withdraw Front desk").tap()
    owner.wait_for_selector("text=No phone is enrolled yet.")
    phone.fill("#a-relief", "0.014 in")
    phone.wait_for_selector("#saved[data-state=revoked]")
    phone.goto("/")
    phone.wait_for_selector("[data-wipe] button")
    look(phone, "withdrawn")
    assert edits.standing(ctx.store.db, ticket)["relief"].value == "0.012 in"


def test_a_session_that_ends_in_the_middle_loses_nothing(
    browser: Any, fresh: tuple[str, Any], until: Any
) -> None:
    _, ctx = fresh
    owner, phone = browser(), browser()
    set_up(owner)
    add(owner, "Noor Amari", "4711")
    enrol(owner, phone, "Front desk")
    tap_pin(phone, "Noor Amari", "4711")
    phone.wait_for_selector(".whom")
    phone.goto("/walkin")
    phone.wait_for_selector("html.js")
    noor = people.named(ctx.store.db, "Noor Amari")
    assert noor
    with ctx.store.writing() as db:
        sessions.end_of(db, "person", noor.id, ctx.now())
    phone.fill("#a-customer_name", "Rose Okafor")
    phone.wait_for_selector("#saved[data-state=signin]")
    assert "Sign in" in phone.inner_text("#saved")
    look(phone, "signed-out")
    phone.locator("#signin").tap()
    tap_pin(phone, "Noor Amari", "4711")
    until(phone, "document.querySelector('html.js #a-customer_name')?.value === 'Rose Okafor'")
    assert phone.is_visible("#customer")
    until(phone, "document.getElementById('saved').dataset.state === 'saved'")
    assert phone.locator("#signin").is_hidden()
    assert [row["name"] for row in ctx.store.db.table("tickets").rows] == ["Rose Okafor"]


def test_without_script_a_pin_is_a_plain_field(browser: Any, fresh: tuple[str, Any]) -> None:
    owner, phone = browser(), browser(java_script_enabled=False)
    set_up(owner)
    add(owner, "Noor Amari", "4711")
    enrol(owner, phone, "Front desk")
    phone.get_by_role("link", name="Noor Amari").tap()
    assert phone.locator("#pad").is_hidden()
    phone.fill("#pin", "4711")
    phone.get_by_role("button", name="Sign in").tap()
    phone.wait_for_selector(".whom")
    phone.get_by_role("button", name="out", exact=True).tap()
    phone.wait_for_selector("text=Who is there?")
    assert [one.name for one in devices.every(fresh[1].store.db)] == ["Front desk"]


def test_a_link_from_another_site_finds_the_phone_signed_in(
    browser: Any, fresh: tuple[str, Any], chromium: Any
) -> None:
    """Strict cookies do not come with it; the page in between asks for them."""
    owner = browser()
    set_up(owner)
    port = fresh[0].rpartition(":")[2]
    elsewhere = f"http://localhost:{port}/"  # another site to the browser, the same server
    owner.goto(f"{elsewhere}install")
    owner.evaluate("there => { setTimeout(() => location.assign(there)) }", f"{fresh[0]}/")
    owner.wait_for_selector(".whom")
