"""The real app on a free loopback port, and a phone to hold it with. Skipped, in words, without Chromium."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest

from intake.app import create_app
from intake.config import Settings
from intake.demo.run import serving

playwright = pytest.importorskip("playwright.sync_api", reason="no playwright, so no browser tests")

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
BOOK = Path(__file__).parents[2] / "pricing_demo"
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
PATIENCE = 120_000  # ms
DOUBLE_TAP = 360  # ms; a quicker second tap on a moving button counts as the same tap
QUIET = [
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--hide-crash-restore-bubble",
]


Cookies = dict[str, str]


@pytest.fixture(scope="session")
def open_shop(tmp_path_factory: pytest.TempPathFactory, badge: Any) -> Iterator[tuple[str, Cookies]]:
    """Where the app answers, and the cookies of an enrolled phone; one shop for the session."""
    app = create_app(Settings(tmp_path_factory.mktemp("data"), BOOK))
    cookies = badge(app.extensions["context"])
    with serving(lambda: app, 0) as running:
        yield running.url.rstrip("/"), cookies


@pytest.fixture(scope="session")
def address(open_shop: tuple[str, Cookies]) -> str:
    """Where the app answers; its data folder lives as long as the session."""
    return open_shop[0]


@pytest.fixture(scope="session")
def cookies(open_shop: tuple[str, Cookies]) -> Cookies:
    """The cookies of an enrolled phone with somebody of the counter signed in."""
    return open_shop[1]


def hand_over(context: Any, url: str, cookies: Cookies) -> None:
    """Give the browser what enrolment and sign-in would."""
    context.add_cookies([{"name": name, "value": token, "url": url} for name, token in cookies.items()])


@pytest.fixture
def staff(chromium: Any, address: str, cookies: Cookies) -> Any:
    """Makes a browser of the shop's: `staff(java_script_enabled=False)`."""

    def make(**options: Any) -> Any:
        context = chromium.new_context(base_url=address, **options)
        hand_over(context, address, cookies)
        return context

    return make


@pytest.fixture(scope="session")
def driver() -> Iterator[Any]:
    if not CHROMIUM:
        pytest.skip("NO CHROMIUM on this machine: nothing of the counter was tried in a browser")
    with playwright.sync_playwright() as driver, pytest.MonkeyPatch.context() as patch:
        patch.setattr(playwright.Browser, "new_context", patient(playwright.Browser.new_context))
        yield driver


def patient(new_context: Any) -> Any:
    """Contexts that wait for a busy machine."""

    def make(browser: Any, **options: Any) -> Any:
        context = new_context(browser, **options)
        context.set_default_timeout(PATIENCE)
        return context

    return make


@pytest.fixture(scope="session")
def launch(driver: Any) -> Any:
    """Starts a Chromium: `launch("--switch", env={...})`."""
    return lambda *more, **options: driver.chromium.launch(
        executable_path=CHROMIUM, args=[*QUIET, *more], **options
    )


@pytest.fixture(scope="session")
def chromium(launch: Any) -> Iterator[Any]:
    browser = launch()
    yield browser
    browser.close()


def until(page: Any, says: str, argument: Any = None) -> None:
    """Wait until a script says yes. (Playwright's own waiting needs eval, which our pages forbid.)"""
    for _ in range(2400):
        try:
            if page.evaluate(says, argument):
                return
        except playwright.Error as error:
            if "navigat" not in str(error) and "destroyed" not in str(error):
                raise
        page.wait_for_timeout(50)
    shown = page.inner_text("body")[-1500:]
    raise AssertionError(f"never came true: {says} {argument or ''}, on a page that shows {shown}")


@pytest.fixture(name="until")
def until_fixture() -> Any:
    return until


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

    def shoot(self, name: str) -> None:
        """Keep a picture for people to look at, if the environment names a folder."""
        if folder := os.environ.get("SHOTS"):
            Path(folder).mkdir(parents=True, exist_ok=True)
            self.page.wait_for_timeout(300)
            self.page.screenshot(path=f"{folder}/{name}.png")

    def saved(self) -> None:
        """Wait until the server has everything."""
        self.page.wait_for_selector("#saved:is([data-state=saved], [data-state=refused])")


@pytest.fixture
def phone(staff: Any) -> Iterator[Thumb]:
    """A phone with the counter's board open. Fails when a page breaks its own rules or its script."""
    context = staff(**PHONE)
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


class Shop:
    """The shop's computer: it can be stopped and started again at the same address with the same data."""

    def __init__(self, data: Path, badge: Any) -> None:
        self.data, self.port = data, 0
        self._badge = badge
        self.cookies: Cookies = {}
        self._running = ExitStack()
        self.ctx: Any = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self, build: str = "") -> None:
        """Open; with `build`, as a new version of the program."""
        app = create_app(Settings(self.data, BOOK))
        if build:
            app.extensions["build"] = app.jinja_env.globals["build"] = build
        self.ctx = app.extensions["context"]
        self.cookies = self.cookies or self._badge(self.ctx)
        self.port = self._running.enter_context(serving(lambda: app, self.port)).port

    def stop(self) -> None:
        self._running.close()


class Pocket:
    """A phone whose browser can die: a profile on the disk, and a Chromium of its own that is killed."""

    def __init__(self, driver: Any, profile: Path, shop: Shop) -> None:
        self._driver, self._profile, self._shop = driver, profile, shop
        self._process: Any = None
        self.page: Any = None

    def start(self) -> None:
        """Start it; a browser that hangs while it starts is started anew, as people do."""
        for attempt in range(3):
            port = self._launch()
            try:
                browser = self._driver.chromium.connect_over_cdp(f"http://127.0.0.1:{port}", timeout=60000)
                break
            except playwright.TimeoutError:
                self.kill()
                if attempt == 2:
                    raise
        context = browser.contexts[0]
        hand_over(context, self._shop.url, self._shop.cookies)  # a killed browser has not written them down
        self.page = context.pages[0] if context.pages else context.new_page()
        self.page.set_viewport_size({"width": 390, "height": 844})

    def _launch(self) -> int:
        told = self._profile / "DevToolsActivePort"
        told.unlink(missing_ok=True)
        command = [CHROMIUM, "--headless", "--remote-debugging-port=0", f"--user-data-dir={self._profile}"]
        self._process = subprocess.Popen(
            [*command, *QUIET], start_new_session=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        for _ in range(2400):
            if told.is_file() and told.read_text().count("\n"):
                break
            time.sleep(0.05)
        return int(told.read_text().split()[0])

    def kill(self) -> None:
        """As when the battery falls out: every process at once, nothing said good-bye to."""
        if self._process:
            os.killpg(self._process.pid, signal.SIGKILL)
            self._process.wait()
            self._process = None


@pytest.fixture
def shop(tmp_path: Path, badge: Any) -> Iterator[Shop]:
    shop = Shop(tmp_path / "shop", badge)
    shop.start()
    yield shop
    shop.stop()


@pytest.fixture
def pocket(driver: Any, tmp_path: Path, shop: Shop) -> Iterator[Pocket]:
    pocket = Pocket(driver, tmp_path / "profile", shop)
    pocket.start()
    yield pocket
    pocket.kill()
