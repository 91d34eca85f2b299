"""From a phone that trusts nothing yet to a walk-in taken without a line, over the shop's own certificate."""

from __future__ import annotations

import base64
import os
import shutil
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from ipaddress import IPv4Address
from pathlib import Path
from queue import Queue
from typing import Any

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from flask import Flask

from intake.lan.certificates import Names, issue_leaf
from intake.lan.phones import Trust
from intake.lan.prepare import prepare
from intake.server.run import Wish, run_lan
from intake.server.uvicorn_server import Running, TlsFiles, serve
from intake.store import edits, events
from intake.store.db import Store

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(sys.platform != "linux", reason="needs a second loopback address"),
]
ADDRESS = "127.0.0.2"
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
AXE = (Path(__file__).parent / "vendor/axe-core/axe.min.js").read_text("utf-8")
VIOLATIONS = """async () => {
  const found = await axe.run(document, { resultTypes: ["violations"] });
  return found.violations.map(({ id, nodes }) => [id, nodes.slice(0, 3).map(node => node.html)]);
}"""
SMALLER = """least => [...document.querySelectorAll("a, button, summary")]
  .filter(one => one.checkVisibility()).map(one => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])
  .filter(([, box]) => box.height < least - 0.5).map(([name, box]) => `${name} ${box.height}`)"""
READY = "caches.match('/walkin').then(found => Boolean(found && navigator.serviceWorker.controller))"
NOTHING_WAITS = """() => { const { hidden, dataset } = document.getElementById("kept");
  return hidden && !dataset.offline; }"""
PASSWORD = "seven brass tuners"
SETUP_CODE = "opened4once"


def free_port() -> int:
    with socket.socket() as held:
        held.bind((ADDRESS, 0))
        return int(held.getsockname()[1])


class Lan:
    """The shop's computer with `serve --lan`, which can be stopped and started again."""

    def __init__(self, data: Path) -> None:
        self.data = data
        self.wish = Wish(ADDRESS, free_port(), free_port(), setup_code=SETUP_CODE)
        self.running: Running | None = None

    def start(self) -> None:
        ready: Queue[tuple[Running, Trust]] = Queue()
        arguments = (self.data, None, self.wish, lambda *told: ready.put(told))
        self._thread = threading.Thread(target=run_lan, args=arguments)
        self._thread.start()
        self.running, self.trust = ready.get(timeout=120)
        self.url = self.running.url.rstrip("/")
        self.here = f"http://127.0.0.1:{self.running.port}"

    def stop(self) -> None:
        if self.running:
            self.running.stop()
            self._thread.join()
            self.running = None


@pytest.fixture
def lan(tmp_path: Path) -> Iterator[Lan]:
    lan = Lan(tmp_path / "shop")
    lan.start()
    yield lan
    lan.stop()


def trusting(data: Path, launch: Any, *more: str) -> Any:
    """A Chromium that trusts the shop: its root in that user's store, where certutil is there to put it in;
    else the server's key is told by its hash, which spares it the check."""
    if shutil.which("certutil"):
        home = data / "home"
        store = home / ".pki" / "nssdb"
        store.mkdir(parents=True)
        root = str(data / "authority" / "root.pem")
        for command in (["-N", "--empty-password"], ["-A", "-t", "C,,", "-n", "shop", "-i", root]):
            subprocess.run(["certutil", "-d", f"sql:{store}", *command], check=True, capture_output=True)
        return launch(*more, env={**os.environ, "HOME": str(home)})
    leaf = x509.load_pem_x509_certificate((data / "authority" / "server.pem").read_bytes())
    digest = hashes.Hash(hashes.SHA256())
    digest.update(leaf.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo))
    known = base64.b64encode(digest.finalize()).decode()
    return launch(*more, f"--ignore-certificate-errors-spki-list={known}")


@pytest.fixture
def browser(launch: Any, lan: Lan) -> Iterator[Any]:
    browser = trusting(lan.data, launch)
    yield browser
    browser.close()


def look(page: Any, name: str) -> None:
    """All details open: nothing that axe-core finds, all as high as a thumb needs, and nothing wider than
    the phone, upright, small or on its side."""
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
    page.evaluate(AXE)
    for scheme in ("dark", "light"):
        page.emulate_media(color_scheme=scheme)
        assert page.evaluate(VIOLATIONS) == [], (name, scheme)
    assert page.evaluate(SMALLER, 48) == [], name
    for width, height in ((360, 640), (844, 390), (390, 844)):
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), (name, width)
    if folder := os.environ.get("SHOTS"):
        page.screenshot(path=f"{folder}/lan-{name}.png", full_page=True)


def opened(browser: Any, **options: Any) -> Any:
    return browser.new_context(**{**PHONE, **options}).new_page()


def shop_with_staff(owner: Any, lan: Lan) -> None:
    """The first start on the shop's own computer, where no certificate is needed."""
    owner.goto(f"{lan.here}/setup?code={SETUP_CODE}")
    owner.fill("#name", "Mara Lindt")
    owner.fill("#new-password", PASSWORD)
    owner.fill("#again", PASSWORD)
    owner.get_by_role("button", name="Open the shop").tap()
    owner.wait_for_url("**/people")
    owner.fill("#name", "Noor Amari")
    owner.fill("#pin", "4711")
    owner.get_by_role("button", name="Add").tap()
    owner.wait_for_selector(".rows b:text-is('Noor Amari')")


def enrol(owner: Any, phone: Any) -> None:
    """From the owner's page to the code, and from the code to a PIN."""
    owner.get_by_role("button", name="Show the enrolment code").tap()
    owner.wait_for_selector(".picture svg")
    phone.goto(owner.get_attribute("a.address", "href"))
    phone.fill("#name", "Front desk")
    phone.get_by_role("button", name="Enrol this phone").tap()
    phone.wait_for_url("**/signin")
    phone.get_by_role("link", name="Noor Amari", exact=True).tap()
    for digit in "4711":
        phone.locator(f"[data-key='{digit}']").tap()
    phone.get_by_role("button", name="OK").tap()
    phone.wait_for_selector(".whom")


def test_a_browser_that_does_not_trust_the_shop_is_let_nowhere(chromium: Any, lan: Lan) -> None:
    page = opened(chromium)
    page.goto(lan.trust.address)
    assert page.inner_text("h1") == "Let this phone trust the shop’s computer"
    with pytest.raises(Exception, match="ERR_CERT_AUTHORITY_INVALID"):
        page.goto(f"{lan.url}/")
    page.context.close()


def test_from_the_first_scan_to_a_walk_in_without_a_line(browser: Any, lan: Lan, until: Any) -> None:
    owner, phone = opened(browser), opened(browser)
    shop_with_staff(owner, lan)
    owner.get_by_role("link", name="Bring a phone in").tap()
    owner.wait_for_selector(".fingerprint")
    look(owner, "bring")

    phone.goto(owner.get_attribute("a.address", "href"))
    look(phone, "trust")
    with phone.expect_download() as fetched:
        phone.get_by_role("link", name="Fetch the certificate").first.tap()
    root = x509.load_der_x509_certificate(fetched.value.path().read_bytes())
    digits = root.fingerprint(hashes.SHA256()).hex().upper()
    assert "".join(owner.inner_text(".fingerprint").split()) == digits
    phone.get_by_role("link", name="Open the counter").tap()
    phone.wait_for_url(f"{lan.url}/signin**")
    enrol(owner, phone)

    assert phone.url == f"{lan.url}/" and phone.evaluate("isSecureContext")
    assert {cookie["name"] for cookie in phone.context.cookies(lan.url)} == {
        "__Host-device",
        "__Host-session",
    }
    until(phone, READY)
    devtools = phone.context.new_cdp_session(phone)
    errors = devtools.send("Page.getInstallabilityErrors")["installabilityErrors"]
    assert [error["errorId"] for error in errors if error["errorId"] != "in-incognito"] == []

    lan.stop()
    phone.goto(f"{lan.url}/walkin")
    phone.wait_for_selector("html.js")
    phone.fill("#a-customer_name", "Rose Okafor")
    phone.evaluate("location.hash = 'neck'")
    phone.fill("#a-relief", "0.010 in")
    until(phone, "document.getElementById('saved').textContent.includes('kept on this phone')")
    lan.start()
    phone.goto(f"{lan.url}/")
    store = Store(lan.data)
    for _ in range(2400):  # a board just opened says for a moment that nothing waits
        if "relief" in {row["part"] for row in store.db.table("parts").rows}:
            break
        phone.wait_for_timeout(50)
    until(phone, NOTHING_WAITS)
    (ticket,) = store.db.table("tickets").rows
    assert ticket["name"] == "Rose Okafor"
    assert edits.standing(store.db, ticket["id"])["relief"].value == "0.010 in"
    assert {one["device"] for one in events.of_ticket(store.db, ticket["id"])} == {"Front desk"}
    store.close()


@pytest.mark.skipif(not shutil.which("certutil"), reason="needs certutil, of libnss3-tools")
def test_chromium_refuses_what_the_root_signs_for_another_site(launch: Any, tmp_path: Path) -> None:
    """The limits in the root count although a person installed it."""
    now = datetime.now(UTC)
    lan = prepare(tmp_path, "Corner Frets", IPv4Address(ADDRESS), 8642, now)
    leaf = issue_leaf(lan.authority.root, Names((), ("counter.example.org",)), now)
    pem = tmp_path / "leaf.pem"
    pem.write_bytes(leaf.certificate_pem() + leaf.key_pem())
    ready: Queue[Running] = Queue()
    arguments = (lambda: Flask("elsewhere"), "127.0.0.1", 0, TlsFiles(pem, pem), ready.put)
    thread = threading.Thread(target=serve, args=arguments)
    thread.start()
    running = ready.get(timeout=120)
    browser = trusting(tmp_path, launch, "--host-resolver-rules=MAP counter.example.org 127.0.0.1")
    try:
        with pytest.raises(Exception, match="net::ERR_CERT_INVALID"):
            browser.new_page().goto(f"https://counter.example.org:{running.port}/")
    finally:
        browser.close()
        running.stop()
        thread.join()
