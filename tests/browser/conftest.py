"""The real app on a free loopback port, and a phone to hold it with. Skipped, in words, without Chromium."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from intake.app import create_app
from intake.config import Settings
from intake.demo import serving

playwright = pytest.importorskip("playwright.sync_api", reason="no playwright, so no browser tests")

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
BOOK = Path(__file__).parents[2] / "pricing_demo"
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
DOUBLE_TAP = 360  # ms; a quicker second tap on a moving button counts as the same tap
QUIET = [
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Where the app answers; its data folder lives as long as the session."""
    app = create_app(Settings(tmp_path_factory.mktemp("data"), BOOK))
    with serving(lambda: app, 0) as running:
        yield running.url.rstrip("/")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    if not CHROMIUM:
        pytest.skip("NO CHROMIUM on this machine: nothing of the counter was tried in a browser")
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield browser
        browser.close()


class Thumb:
    """One thumb on one phone. `taps` counts every touch of the glass, keyboard aside."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.taps = 0
        self.complaints: list[str] = []
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("console", lambda line: "Content Security" in line.text and self.complaints.append(line.text))

    def tap(self, selector: str) -> None:
        """Touch the first such thing that can be seen."""
        target = self.page.locator(f"{selector} >> visible=true").first
        target.scroll_into_view_if_needed()
        target.tap(force=True)
        self.taps += 1

    def write(self, selector: str, words: str) -> None:
        """Touch a field, then type."""
        self.tap(selector)
        self.page.locator(selector).fill(words)

    def next(self) -> None:
        self.page.wait_for_timeout(DOUBLE_TAP)
        self.tap("#next")

    def pass_step(self, step: str, how: str) -> None:
        """Tap "All sound" (`sound`) or "Not assessed" (`off`)."""
        self.page.wait_for_timeout(DOUBLE_TAP)
        self.tap(f"#{step} .pass .{how}")

    def go_to(self, step: str) -> None:
        """Open a step by its address: no tap."""
        self.page.evaluate("step => { location.hash = step }", step)
        self.page.wait_for_selector(f"#{step}.now")

    def saved(self) -> None:
        """Wait until the server has everything."""
        self.page.wait_for_selector("#saved:is([data-state=saved], [data-state=refused])")


@pytest.fixture
def phone(chromium: Any, address: str) -> Iterator[Thumb]:
    """A phone with the counter's board open. Fails when a page breaks its own rules or its script."""
    context = chromium.new_context(base_url=address, **PHONE)
    thumb = Thumb(context.new_page())
    thumb.page.goto("/")
    yield thumb
    context.close()
    assert not thumb.complaints


@pytest.fixture
def walkin(phone: Thumb) -> Thumb:
    """A blank wizard, its modules at work."""
    phone.page.goto("/walkin")
    phone.page.wait_for_selector("html.js")
    return phone
