"""The counter as an app: it can be installed, opens without a line, changes its version on consent only."""

from __future__ import annotations

import json
from typing import Any

import pytest

from intake.store import edits

pytestmark = pytest.mark.browser
READY = "caches.match('/walkin').then(found => Boolean(found && navigator.serviceWorker.controller))"


def hand_over(context: Any, shop: Any) -> None:
    """What enrolment and sign-in would give the browser."""
    context.add_cookies(
        [{"name": name, "value": token, "url": shop.url} for name, token in shop.cookies.items()]
    )


@pytest.fixture
def app_phone(chromium: Any, shop: Any, until: Any) -> Any:
    """A page on a shop that can be stopped, its worker at work."""
    context = chromium.new_context(base_url=shop.url, viewport={"width": 390, "height": 844})
    hand_over(context, shop)
    page = context.new_page()
    page.goto("/")
    until(page, READY)
    yield page
    context.close()


def test_the_browser_finds_nothing_that_speaks_against_installing(app_phone: Any) -> None:
    devtools = app_phone.context.new_cdp_session(app_phone)
    errors = devtools.send("Page.getInstallabilityErrors")["installabilityErrors"]
    # "in-incognito" is Chromium's word for the throw-away profile of this test.
    assert [error["errorId"] for error in errors if error["errorId"] != "in-incognito"] == []
    found = devtools.send("Page.getAppManifest")
    assert found["errors"] == []
    manifest = json.loads(found["data"])
    assert (manifest["display"], manifest["start_url"], manifest["scope"]) == ("standalone", "/", "/")
    assert {icon["purpose"] for icon in manifest["icons"]} == {"any", "maskable"}
    assert [shortcut["url"] for shortcut in manifest["shortcuts"]] == ["/walkin"]
    for icon in manifest["icons"]:
        answer = app_phone.request.get(icon["src"])
        width, height = app_phone.evaluate(
            """async address => { const picture = new Image(); picture.src = address;
            await picture.decode(); return [picture.naturalWidth, picture.naturalHeight]; }""",
            icon["src"],
        )
        assert answer.ok and icon["sizes"] == f"{width}x{height}"


def test_without_a_line_it_opens_and_shows_no_customer_of_the_shop(app_phone: Any, shop: Any) -> None:
    app_phone.goto("/walkin")
    app_phone.wait_for_selector("html.js")
    app_phone.fill("#a-customer_name", "Somebody Known")
    app_phone.wait_for_selector("#saved[data-state=saved]")
    ticket = app_phone.url.split("#")[0]
    app_phone.goto("/")
    assert "Somebody Known" in app_phone.inner_text("main")
    shop.stop()
    for address in ("/", ticket, "/walkin", "/?q=Somebody", "/install"):
        app_phone.goto(address)
        app_phone.wait_for_selector("main >> visible=true")
        assert "Somebody Known" not in app_phone.content(), address
    app_phone.goto(ticket)
    assert "not on this phone" in app_phone.inner_text("#absent")
    kept = app_phone.evaluate(
        """async () => {
            const caught = await Promise.all((await caches.keys()).map(async name =>
                (await caches.open(name)).keys()));
            return caught.flat().map(request => new URL(request.url).pathname);
        }"""
    )
    assert [path for path in kept if not path.startswith("/static/")] == ["/offline", "/walkin"]
    shop.start()


def test_a_new_version_waits_for_the_board_and_for_consent(app_phone: Any, shop: Any, until: Any) -> None:
    first = shop.ctx
    shop.stop()
    shop.start(build="the next version")
    assert shop.ctx is not first
    app_phone.goto("/walkin")
    app_phone.wait_for_selector("html.js")
    app_phone.evaluate("navigator.serviceWorker.ready.then(found => found.update())")
    until(app_phone, "navigator.serviceWorker.ready.then(found => Boolean(found.waiting))")
    app_phone.evaluate("window.mine = true")
    app_phone.fill("#a-customer_name", "Ada Brandt")
    app_phone.wait_for_selector("#saved[data-state=saved]")
    assert app_phone.evaluate("window.mine === true")  # no reload in the middle of a ticket
    assert app_phone.evaluate("navigator.serviceWorker.ready.then(found => Boolean(found.waiting))")
    app_phone.goto("/")
    app_phone.locator("#new-version button").click()
    until(app_phone, "navigator.serviceWorker.ready.then(found => !found.waiting)")
    app_phone.wait_for_selector("#new-version[hidden]", state="attached")
    shell = f"shell-the next version-{shop.ctx.book.digest[:12]}"
    assert app_phone.evaluate("caches.keys()") == ["files", shell]


def test_a_worker_that_changes_in_the_middle_of_a_ticket_costs_no_value(
    app_phone: Any, shop: Any, until: Any
) -> None:
    app_phone.goto("/walkin")
    app_phone.wait_for_selector("html.js")
    app_phone.fill("#a-customer_name", "Ada Brandt")
    app_phone.wait_for_selector("#saved[data-state=saved]")
    shop.stop()
    shop.start(build="the next version")
    app_phone.route("**/edits", lambda route: route.abort())
    app_phone.fill("#a-customer_phone", "555 0123")
    app_phone.wait_for_selector("#saved[data-state=unsaved]")

    board = app_phone.context.new_page()
    board.route("**/edits", lambda route: route.abort())
    board.goto("/")
    board.evaluate("navigator.serviceWorker.ready.then(found => found.update())")
    board.locator("#new-version button").click()
    until(app_phone, "navigator.serviceWorker.ready.then(found => !found.waiting)")
    until(app_phone, "caches.keys().then(names => names.length === 2 && names[1].includes('next version'))")
    app_phone.fill("#a-customer_email", "ada@home.example")
    app_phone.wait_for_timeout(1200)
    app_phone.unroute_all()
    board.close()
    app_phone.evaluate("dispatchEvent(new Event('online'))")

    app_phone.wait_for_selector("#saved[data-state=saved]")
    ticket = app_phone.evaluate("location.pathname").rpartition("/")[2]
    standing = edits.standing(shop.ctx.store.db, ticket)
    given = {part: held.value for part, held in standing.items() if held.value}
    assert given == {
        "customer_name": "Ada Brandt", "customer_phone": "555 0123", "customer_email": "ada@home.example"
    }  # fmt: skip


def test_a_slow_line_leaves_the_wizard_usable(app_phone: Any, until: Any) -> None:
    """400 ms, 400 kbit/s and a quarter of the computing power: what is asked is behaviour, not time."""
    devtools = app_phone.context.new_cdp_session(app_phone)
    slow = {"offline": False, "latency": 400, "downloadThroughput": 50000, "uploadThroughput": 50000}
    devtools.send("Network.enable")
    devtools.send("Network.emulateNetworkConditions", slow)
    devtools.send("Emulation.setCPUThrottlingRate", {"rate": 4})
    app_phone.goto("/walkin")
    app_phone.wait_for_selector("html.js")
    asked: list[str] = []
    app_phone.on("response", lambda answer: answer.from_service_worker or asked.append(answer.url))
    for step in ("instrument", "player", "strings-and-room", "neck", "action", "frets"):
        app_phone.wait_for_timeout(360)
        app_phone.click("#next")
        until(app_phone, f"document.querySelector('.now[data-step]').id === '{step}'")
    assert asked == []  # what steps show came with the page, or out of the phone
    app_phone.evaluate("location.hash = 'neck'")
    app_phone.fill("#a-relief", "0.010 in")
    app_phone.evaluate("location.hash = 'customer'")
    app_phone.fill("#a-customer_name", "Ada Brandt")
    until(app_phone, "document.getElementById('saved').dataset.state === 'saved'")
    app_phone.reload()
    assert app_phone.input_value("#a-relief") == "0.010 in"


def test_over_plain_http_elsewhere_the_board_says_what_is_missing(chromium: Any, shop: Any) -> None:
    context = chromium.new_context()
    hand_over(context, shop)
    context.add_init_script("Object.defineProperty(window, 'isSecureContext', { value: false });")
    page = context.new_page()
    page.goto(f"{shop.url}/")
    page.wait_for_selector("#plain-http:not([hidden])")
    assert "plain http" in page.inner_text("#plain-http")
    context.close()
