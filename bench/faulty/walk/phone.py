"""A phone in a walk: a browser's context, its pages, and the line that it hangs on."""

from __future__ import annotations

import os
import shutil
import signal
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from typing import Any

from faulty.walk.line import Line
from faulty.walk.shop import Cookies

SWITCHES = (
    "--no-sandbox",
    "--disable-dev-shm-usage",
    "--disable-quic",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-sync",
    "--in-process-gpu",
    "--process-per-site",
)
SHAPE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
SCREEN = (Path(__file__).parent / "screen.js").read_text("utf-8")
WITHOUT_DATABASE = "Object.defineProperty(window, 'indexedDB', { value: undefined });"
OLD_MARK = """if (!localStorage["walk marked"]) {
  localStorage["walk marked"] = "yes";
  localStorage["withdrawn at"] = Date.now() - 24 * 3600 * 1000;
}
const realInterval = window.setInterval;
window.setInterval = (work, ms) => realInterval(work, Math.min(ms, 200));"""
PATIENCE = 20_000
OPENING = 5_000
NUMBERS = count(1)


@contextmanager
def browser_of(driver: Any) -> Iterator[Any]:
    """One Chromium for all walks."""
    browser = driver.chromium.launch(executable_path=chromium(), args=SWITCHES)
    try:
        yield browser
    finally:
        with suppress(Exception):
            browser.close()


def chromium() -> str | None:
    return os.environ.get("CHROMIUM") or shutil.which("chromium")


@dataclass(frozen=True)
class Kind:
    """What a phone is like. `profile`: it has a browser of its own; killed, its profile stays."""

    profile: bool = False
    has_database: bool = True
    worker: bool = False
    was_withdrawn: bool = False


@dataclass(eq=False)
class Page:
    """One page of the ticket. `asked`: it asked before it was left."""

    phone: Phone
    tab: Any
    number: int = field(default_factory=lambda: next(NUMBERS))
    asked: bool = False

    def read(self, what: str) -> Any:
        return self.tab.evaluate(f"() => window.walkScreen.{what}()")

    def wait(self, milliseconds: float) -> None:
        self.tab.wait_for_timeout(milliseconds)

    def go_to(self, step: str) -> None:
        """Open a step; a sheet that is up is closed first."""
        self.tab.evaluate(
            "step => { document.querySelector('dialog[open]')?.close(); location.hash = step; }", step
        )

    @property
    def works(self) -> bool:
        with suppress(Exception):
            return bool(self.tab.evaluate("document.documentElement.classList.contains('js')"))
        return False


@dataclass(eq=False)
class Phone:
    """`name` is the one that it was enrolled under."""

    name: str
    kind: Kind
    line: Line
    cookies: Cookies
    driver: Any
    browser: Any
    profile: Path
    context: Any = None
    pages: list[Page] = field(default_factory=list)
    _in_tab: dict[Any, Page] = field(default_factory=dict)

    def start(self) -> None:
        options = {
            "base_url": self.line.url,
            "service_workers": "allow" if self.kind.worker else "block",
            **SHAPE,
        }
        if self.kind.profile:
            self.context = self.driver.chromium.launch_persistent_context(
                self.profile, executable_path=chromium(), args=SWITCHES, **options
            )
        else:
            self.context = self.browser.new_context(**options)
        self.context.set_default_timeout(PATIENCE)
        pairs = self.cookies.items()
        self.context.add_cookies(
            [{"name": name, "value": token, "url": self.line.url} for name, token in pairs]
        )
        if not self.kind.has_database:
            self.context.add_init_script(WITHOUT_DATABASE)
        if self.kind.was_withdrawn:
            self.context.add_init_script(OLD_MARK)
        self.context.add_init_script(SCREEN)
        self.pages = []

    def kill(self) -> None:
        """kill -9, as when the battery falls out."""
        for process in Path("/proc").iterdir():
            with suppress(OSError, ValueError):
                if f"--user-data-dir={self.profile}".encode() in (process / "cmdline").read_bytes():
                    os.kill(int(process.name), signal.SIGKILL)
        with suppress(Exception):
            self.context.close()

    def open(self, ticket: str) -> Page | None:
        """A page of the ticket whose script works, or None where the line did not give one."""
        page = Page(self, self.context.new_page())
        self._watch(page)
        with suppress(Exception):
            page.tab.goto(f"/tickets/{ticket}", timeout=OPENING)
            if self._comes_up(page):
                return page
        with suppress(Exception):
            page.tab.close()
        return None

    def reload(self, page: Page) -> Page | None:
        """The page that comes after it; None where the line gave none, and this one is gone."""
        self.pages.remove(page)
        after = Page(self, page.tab)
        with suppress(Exception):
            page.tab.reload(timeout=OPENING)
            self._in_tab[page.tab] = after
            if self._comes_up(after):
                return after
        with suppress(Exception):
            page.tab.close()
        return None

    def _watch(self, page: Page) -> None:
        """Whoever is asked says yes: the page of that tab at that time has asked."""

        def answer(dialog: Any) -> None:
            self._in_tab[page.tab].asked = True
            dialog.accept()

        self._in_tab[page.tab] = page
        page.tab.on("dialog", answer)

    def _comes_up(self, page: Page) -> bool:
        page.tab.wait_for_selector("html.js", timeout=OPENING, state="attached")
        self.pages.append(page)
        return True

    def close(self, page: Page) -> None:
        """As a person closes a tab: the page may ask, and is told to go."""
        self.pages.remove(page)
        with suppress(Exception), page.tab.expect_event("close", timeout=OPENING):
            page.tab.close(run_before_unload=True)

    def end(self) -> None:
        with suppress(Exception):
            self.context.close()
        shutil.rmtree(self.profile, ignore_errors=True)
