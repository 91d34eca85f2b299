"""No screen in any state breaks a rule that axe-core 4.14.1 can check (WCAG 2.2 A and AA, best practice)."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.browser
AXE = (Path(__file__).parent / "vendor/axe-core/axe.min.js").read_text("utf-8")
RUN = """async () => {
  const found = await axe.run(document, { resultTypes: ["violations"] });
  return found.violations.map(({ id, nodes }) => [id, nodes.slice(0, 3).map(node => node.html)]);
}"""
STEPS = (
    "customer", "instrument", "player", "strings-and-room", "neck", "action", "frets", "top-and-bridge",
    "cracks-and-braces", "hardware-and-wiring", "originality-and-photos", "quote",
)  # fmt: skip


def violations(page: Any) -> list[Any]:
    """Runs in the debugger's name, since the page's own policy allows no foreign script."""
    page.evaluate(
        "Promise.allSettled(document.getAnimations().map(one => one.finished))"
    )  # a heading moves in
    if not page.evaluate("Boolean(window.axe)"):
        page.evaluate(AXE)
    return page.evaluate(RUN)


def test_the_checker_finds_what_is_planted(phone: Any) -> None:
    phone.page.evaluate("document.querySelector('main').append(document.createElement('button'))")
    assert [rule for rule, _ in violations(phone.page)] == ["button-name"]


def test_board_and_install_page(phone: Any) -> None:
    phone.page.context.route("**/ping", lambda route: route.abort())
    for address in ("/", "/?q=nobody", "/install", "/offline", "/nowhere"):
        phone.page.goto(address)
        assert violations(phone.page) == [], address


def test_every_step(walkin: Any) -> None:
    walkin.go_to("instrument")
    walkin.tap("label:has([value=steel-string])")
    for step in STEPS:
        walkin.go_to(step)
        assert violations(walkin.page) == [], step
    walkin.tap("#steps-button")
    assert violations(walkin.page) == []


def test_every_step_on_a_dark_bench(walkin: Any) -> None:
    family = "steel-string"
    walkin.page.emulate_media(color_scheme="dark")
    walkin.write("#a-customer_name", "Ines Falk")
    walkin.go_to("instrument")
    walkin.tap(f"label:has([value={family}])")
    walkin.go_to("player")
    walkin.tap("label:has([name=complaints][value=restring])")
    walkin.go_to("action")
    walkin.write("#a-action_bass_12", "lots")
    walkin.go_to("neck")
    walkin.page.wait_for_selector("#e-action_bass_12:not(:empty)", state="attached")
    walkin.page.fill("#a-relief", "0.030 in")
    walkin.saved()
    for number, step in enumerate(STEPS, 1):
        walkin.go_to(step)
        if step == "quote":
            walkin.page.wait_for_selector("#summary .job")
        walkin.shoot(f"dark-{family}-{number:02}-{step}")
        assert violations(walkin.page) == [], step
        dark = walkin.page.evaluate("getComputedStyle(document.body).backgroundColor")
        assert dark == "rgb(23, 20, 17)"
    walkin.go_to("neck")
    walkin.pass_step("neck", "sound")
    walkin.go_to("neck")
    assert violations(walkin.page) == []
    walkin.go_to("frets")
    walkin.tap(".map svg")
    walkin.shoot(f"dark-{family}-fret")
    assert violations(walkin.page) == []
    walkin.page.goto("/")
    walkin.shoot("dark-board")
    assert violations(walkin.page) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_long_page_without_script(staff: Any, scheme: Any) -> None:
    """The checker is a script: the page comes as to one without, and the checker runs beside it."""
    context = staff(color_scheme=scheme, viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.route("**/*.js", lambda route: route.abort())
    page.goto("/walkin")
    page.evaluate("document.querySelectorAll('.step').forEach(step => step.classList.add('now'))")
    assert violations(page) == []
    context.close()


def test_the_sheets(walkin: Any) -> None:
    walkin.go_to("frets")
    walkin.tap(".map svg")
    assert violations(walkin.page) == []
    walkin.tap("dialog[open] .go")
    walkin.go_to("cracks-and-braces")
    walkin.tap(".body")
    assert violations(walkin.page) == []


def test_with_findings_messages_and_a_quote(walkin: Any) -> None:
    walkin.write("#a-customer_name", "Ines Falk")
    walkin.go_to("instrument")
    walkin.tap("label:has([value=steel-string])")
    walkin.go_to("player")
    walkin.tap("label:has([name=complaints][value=restring])")
    walkin.go_to("neck")
    walkin.write("#a-relief", "lots")
    walkin.go_to("action")
    walkin.page.wait_for_selector("#e-relief:not(:empty)", state="attached")
    walkin.go_to("neck")
    assert violations(walkin.page) == []
    walkin.page.fill("#a-relief", "0.030 in")
    walkin.saved()
    walkin.go_to("quote")
    walkin.page.wait_for_selector("#summary .job")
    assert violations(walkin.page) == []
    walkin.next()
    walkin.page.wait_for_url("**/quotes/1")
    assert violations(walkin.page) == []


def test_a_clash(walkin: Any, staff: Any) -> None:
    walkin.write("#a-customer_name", "Ada")
    walkin.next()
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
    assert violations(other) == []
    other.context.close()


def test_without_a_line(walkin: Any, until: Any) -> None:
    walkin.page.context.route("**/edits", lambda route: route.abort())
    walkin.write("#a-customer_name", "Ada")
    walkin.next()
    until(walkin.page, "document.getElementById('saved').dataset.state === 'unsaved'")
    assert violations(walkin.page) == []
    walkin.go_to("quote")
    walkin.page.wait_for_selector("#unpriced:not([hidden])")
    assert violations(walkin.page) == []
    walkin.page.context.route("**/ping", lambda route: route.abort())
    for address in ("/", "/offline"):
        walkin.page.goto(address)
        walkin.page.wait_for_selector("#kept:not([hidden])")
        assert violations(walkin.page) == [], address


def test_a_refused_entry(walkin: Any) -> None:
    walkin.page.context.route("**/edits", lambda route: route.fulfill(status=413, body="Too long."))
    walkin.write("#a-customer_name", "Ada")
    walkin.next()
    walkin.page.wait_for_timeout(300)
    walkin.page.goto("/")
    walkin.page.wait_for_selector(".standing")
    assert violations(walkin.page) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_what_was_kept_too_long_and_what_comes_from_another_phone(
    walkin: Any, until: Any, scheme: Any
) -> None:
    walkin.page.emulate_media(color_scheme=scheme)
    walkin.page.context.route(
        "**/edits", lambda route: route.fulfill(status=401, headers={"Revoked": "yes"}, body="Withdrawn.")
    )
    walkin.write("#a-customer_name", "Ada")
    walkin.next()
    walkin.page.wait_for_selector("#saved[data-state=revoked]")
    assert violations(walkin.page) == []
    for address in ("/", "/from-phone"):
        walkin.page.goto(address)
        walkin.page.wait_for_selector("[data-wipe] button")
        walkin.shoot(f"withdrawn-{scheme}-{address[1:4]}")
        assert violations(walkin.page) == [], address
    walkin.page.evaluate("localStorage.setItem('withdrawn at', 1)")
    walkin.page.goto("/offline")  # the shop's own board says that the phone is enrolled
    walkin.page.wait_for_selector("#wiped:not([hidden])")
    walkin.shoot(f"wiped-{scheme}")
    assert violations(walkin.page) == []
