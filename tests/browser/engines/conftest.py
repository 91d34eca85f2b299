"""WebKit and Firefox, driven by the commands of W3C WebDriver; skipped, in words, where one is not installed.

WebKitWebDriver takes them over HTTP; Firefox takes the same ones over Marionette, a socket of its own.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from http.client import HTTPConnection
from pathlib import Path
from typing import Any, Protocol

import pytest

PATIENCE = 120.0
ELEMENT = "element-6066-11e4-a52e-4f735466cecf"
"""The name that the standard gives to a reference to an element."""
WIDTH, HEIGHT = 390, 844
QUIET = {
    "datareporting.policy.dataSubmissionEnabled": False,
    "app.update.disabledForTesting": True,
    "browser.shell.checkDefaultBrowser": False,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
    "services.settings.server": "data:,",
    "toolkit.telemetry.reportingpolicy.firstRun": False,
}


class CommandError(Exception):
    """The browser refused a command."""


class Wire(Protocol):
    """Carries commands to a browser."""

    def send(self, command: str, values: dict[str, Any]) -> Any: ...


class Http:
    """WebDriver over HTTP."""

    PATHS = {
        "Navigate": ("POST", "/url"),
        "Refresh": ("POST", "/refresh"),
        "ExecuteScript": ("POST", "/execute/sync"),
        "AddCookie": ("POST", "/cookie"),
        "SetWindowRect": ("POST", "/window/rect"),
        "NewWindow": ("POST", "/window/new"),
        "SwitchToWindow": ("POST", "/window"),
        "GetWindowHandle": ("GET", "/window"),
        "FindElements": ("POST", "/elements"),
        "ElementClick": ("POST", "/element/{id}/click"),
        "ElementSendKeys": ("POST", "/element/{id}/value"),
    }

    def __init__(self, port: int) -> None:
        self._port = port
        self._session = ""

    def start(self, capabilities: dict[str, Any]) -> None:
        made = self._ask("POST", "/session", {"capabilities": {"alwaysMatch": capabilities}})
        self._session = f"/session/{made['sessionId']}"

    def stop(self) -> None:
        self._ask("DELETE", self._session, {})

    def send(self, command: str, values: dict[str, Any]) -> Any:
        method, path = self.PATHS[command]
        return self._ask(method, self._session + path.format(**values), values)

    def _ask(self, method: str, path: str, values: dict[str, Any]) -> Any:
        line = HTTPConnection("127.0.0.1", self._port, timeout=PATIENCE)
        body = json.dumps(values) if method == "POST" else None
        line.request(method, path, body, {"Content-Type": "application/json"})
        answer = line.getresponse()
        value = json.loads(answer.read())["value"]
        line.close()
        if answer.status != 200:
            raise CommandError(f"{path}: {value['error']}: {value['message']}")
        return value


class Marionette:
    """WebDriver's commands as Firefox's own protocol has them: `length:[0, id, name, values]`."""

    def __init__(self, port: int) -> None:
        self._line = socket.create_connection(("127.0.0.1", port), timeout=PATIENCE)
        self._reader = self._line.makefile("rb")
        self._id = 0
        self._read()

    def start(self, capabilities: dict[str, Any]) -> None:
        self.send("NewSession", {"capabilities": {"alwaysMatch": capabilities}})

    def stop(self) -> None:
        self._reader.close()
        self._line.close()

    def send(self, command: str, values: dict[str, Any]) -> Any:
        self._id += 1
        text = json.dumps([0, self._id, f"WebDriver:{command}", values]).encode()
        self._line.sendall(b"%d:%b" % (len(text), text))
        _, id, error, result = self._read()
        assert id == self._id
        if error:
            raise CommandError(f"{command}: {error['error']}: {error['message']}")
        return result["value"] if isinstance(result, dict) and result.keys() == {"value"} else result

    def _read(self) -> Any:
        digits = b""
        while (byte := self._reader.read(1)) != b":":
            digits += byte
        return json.loads(self._reader.read(int(digits)))


class Phone:
    """A browser as somebody holds it: look, tap, type, choose a file, open a second tab."""

    def __init__(self, wire: Wire) -> None:
        self._wire = wire

    def open(self, address: str) -> None:
        self._wire.send("Navigate", {"url": address})

    def reload(self) -> None:
        self._wire.send("Refresh", {})

    def enrol(self, address: str, cookies: dict[str, str]) -> None:
        """Give it the cookies that enrolment and sign-in would."""
        self.open(f"{address}/healthz")
        for name, token in cookies.items():
            self._wire.send("AddCookie", {"cookie": {"name": name, "value": token, "path": "/"}})

    def ask(self, script: str, *values: Any) -> Any:
        return self._wire.send("ExecuteScript", {"script": f"return {script}", "args": list(values)})

    def until(self, script: str, *values: Any) -> None:
        """Wait until that is so; a page that is just being left counts as not yet."""
        end = time.monotonic() + PATIENCE
        while not self._holds(script, values):
            assert time.monotonic() < end, (
                f"never came true: {script} {values}, on {self.words('body')[-900:]}"
            )
            time.sleep(0.05)

    def _holds(self, script: str, values: tuple[Any, ...]) -> bool:
        try:
            return bool(self.ask(script, *values))
        except CommandError:
            return False

    def see(self, selector: str) -> None:
        """Wait until such a thing can be seen."""
        self.until(
            "[...document.querySelectorAll(arguments[0])].some(one => one.checkVisibility())", selector
        )

    def words(self, selector: str) -> str:
        return str(self.ask("document.querySelector(arguments[0]).innerText", selector))

    def value(self, selector: str) -> str:
        return str(self.ask("document.querySelector(arguments[0]).value", selector))

    def tap(self, selector: str) -> None:
        self._wire.send("ElementClick", {"id": self._shown(selector)})

    def write(self, selector: str, text: str) -> None:
        self._wire.send("ElementSendKeys", {"id": self._shown(selector), "text": text})

    def choose_file(self, selector: str, file: Path) -> None:
        self._wire.send("ElementSendKeys", {"id": self._elements(selector)[0], "text": str(file)})

    def step(self, name: str) -> None:
        """Open a step by its address."""
        self.ask("void (location.hash = arguments[0])", name)
        self.see(f"#{name}.now")

    def saved(self) -> None:
        """Wait until the foot says that the shop has everything."""
        self.see("#saved[data-state=saved]")

    def tab(self) -> str:
        return str(self._wire.send("GetWindowHandle", {}))

    def new_tab(self) -> str:
        handle = str(self._wire.send("NewWindow", {"type": "tab"})["handle"])
        self.turn_to(handle)
        return handle

    def turn_to(self, handle: str) -> None:
        self._wire.send("SwitchToWindow", {"handle": handle})

    def _shown(self, selector: str) -> str:
        """The first such element that can be seen, in the middle of the screen."""
        self.see(selector)
        first = "[...document.querySelectorAll(arguments[0])].find(one => one.checkVisibility())"
        self.ask(f"void {first}.scrollIntoView({{block: 'center', behavior: 'instant'}})", selector)
        found: dict[str, str] = self.ask(first, selector)
        return found[ELEMENT]

    def _elements(self, selector: str) -> list[str]:
        found = self._wire.send("FindElements", {"using": "css selector", "value": selector})
        return [one[ELEMENT] for one in found]


def free_port() -> int:
    with socket.socket() as line:
        line.bind(("127.0.0.1", 0))
        return int(line.getsockname()[1])


def connected(make: Callable[[int], Any], port: int) -> Any:
    """What `make` makes of the port once somebody listens there."""
    end = time.monotonic() + PATIENCE
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return make(port)
        except OSError:
            assert time.monotonic() < end, f"nobody listens on port {port}"
            time.sleep(0.1)


@contextmanager
def running(command: list[str], **more: str) -> Iterator[None]:
    """A program with all that it starts."""
    silent = subprocess.DEVNULL
    process = subprocess.Popen(
        command, start_new_session=True, env={**os.environ, **more}, stdout=silent, stderr=silent
    )
    try:
        yield
    finally:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()


@contextmanager
def screen() -> Iterator[str]:
    """A screen that nobody sees, by its name."""
    reading, writing = os.pipe()
    command = ["Xvfb", "-displayfd", str(writing), "-screen", "0", "800x1200x24", "-nolisten", "tcp"]
    process = subprocess.Popen(command, pass_fds=[writing], stderr=subprocess.DEVNULL)
    os.close(writing)
    with os.fdopen(reading) as said:
        name = f":{said.readline().strip()}"
    try:
        yield name
    finally:
        process.terminate()
        process.wait()


@contextmanager
def webkit(folder: Path) -> Iterator[Phone]:
    """WebKitGTK's small browser."""
    port = free_port()
    with ExitStack() as stack:
        place = {"HOME": str(folder), "XDG_DATA_HOME": str(folder), "XDG_CACHE_HOME": str(folder / "cache")}
        command = ["WebKitWebDriver", f"--port={port}"]
        stack.enter_context(running(command, DISPLAY=stack.enter_context(screen()), **place))
        wire = connected(Http, port)
        wire.start({"webkitgtk:browserOptions": {"binary": mini_browser(), "args": ["--automation"]}})
        stack.callback(wire.stop)
        wire.send("SetWindowRect", {"width": WIDTH, "height": HEIGHT})
        yield Phone(wire)


def mini_browser() -> str | None:
    places = sorted(Path("/usr/lib").glob("*/webkit2gtk-4.*/MiniBrowser"))
    return str(places[-1]) if places else shutil.which("MiniBrowser")


@contextmanager
def firefox(folder: Path) -> Iterator[Phone]:
    port = free_port()
    lines = [f"user_pref({json.dumps(name)}, {json.dumps(value)});" for name, value in QUIET.items()]
    (folder / "user.js").write_text(
        "\n".join([*lines, f'user_pref("marionette.port", {port});\n']), encoding="utf-8"
    )
    command = [firefox_program() or "", "--headless", "--marionette", "--no-remote", "--profile", str(folder)]
    size = {"MOZ_HEADLESS_WIDTH": str(WIDTH), "MOZ_HEADLESS_HEIGHT": str(HEIGHT)}
    with running(command, HOME=str(folder), **size):
        wire = connected(Marionette, port)
        wire.start({})
        yield Phone(wire)
        wire.stop()


def firefox_program() -> str | None:
    return shutil.which("firefox-esr") or shutil.which("firefox")


BROWSERS: dict[str, tuple[Callable[[Path], Any], Callable[[], object]]] = {
    "webkit": (webkit, lambda: shutil.which("WebKitWebDriver") and shutil.which("Xvfb") and mini_browser()),
    "firefox": (firefox, firefox_program),
}


@pytest.fixture(params=BROWSERS)
def phone(request: pytest.FixtureRequest, shop: Any, tmp_path: Path) -> Iterator[Phone]:
    """A phone that the shop knows, somebody of the counter signed in."""
    start, installed = BROWSERS[request.param]
    if not installed():
        pytest.skip(f"NO {request.param.upper()} on this machine: nothing of the counter was tried in it")
    (tmp_path / "profile").mkdir()
    with start(tmp_path / "profile") as phone:
        phone.enrol(shop.url, shop.cookies)
        yield phone
