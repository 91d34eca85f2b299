"""Random walks of two phones on one ticket, in a real Chromium behind a bad line.

Requests are dropped or held and sent on late and out of order, answers are lost; pages are reloaded, closed
and opened beside each other; a browser is killed with -9. In the end every value that a hand entered is
looked for in the store and on the screen.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from uuid import uuid4

import badge

from faulty.crowds import serving
from faulty.trial import Trial
from intake.store import edits
from intake.store.db import Store

TEXTS = {
    "customer_name": ("customer", ("Ada Brandt", "Ines Falk", "Bo Lind")),
    "serial": ("instrument", ("S 1", "S 2", "S 3")),
    "relief": ("neck", ("0.008 in", "0.010 in", "0.014 in")),
    "body_hump": ("neck", ("0.002 in", "0.004 in", "0.006 in")),
    "complaint_words": ("player", ("buzzes", "rattles", "too high")),
}
CHOICES = {"twist": "neck", "board_state": "neck", "attack": "player", "complaints": "player"}
SWITCHES = ("--no-sandbox", "--disable-dev-shm-usage", "--disable-quic")
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
MOVES = 24
WAITING = """() => new Promise((resolve) => {
  const opening = indexedDB.open("tallyfret-edits");
  opening.onsuccess = () => {
    const all = opening.result.transaction("edits").objectStore("edits").getAll();
    all.onsuccess = () => {
      opening.result.close();
      resolve(all.result.filter((one) => one.state === "waiting").length);
    };
  };
})"""
SHOWN = """(part) => {
  const [id, member] = part.split("/"), name = CSS.escape(id);
  if (member) return document.querySelector(`[name=${name}][value="${member}"]`).checked ? "yes" : "";
  const fields = [...document.querySelectorAll(`[name=${name}]`)];
  if (fields[0].type !== "radio") return fields[0].value;
  return fields.find((one) => one.checked)?.value || "";
}"""
Walk = tuple[str, str]


@dataclass
class Line:
    """What a phone has instead of a network."""

    dice: random.Random
    bad: bool = True
    held: list[Any] = field(default_factory=list)

    def take(self, route: Any) -> None:
        fault = self.dice.choice(("ok", "ok", "ok", "drop", "lost", "hold")) if self.bad else "ok"
        if "/static/" in route.request.url:
            fault = "ok"
        with suppress(Exception):  # the page may have gone meanwhile
            if fault == "ok":
                route.continue_()
            elif fault == "drop" or (
                fault == "hold" and route.request.method == "GET" and self.dice.random() < 0.5
            ):
                route.abort()
            elif fault == "lost":
                route.fetch()
                route.abort()
            else:
                self.held.append(route)

    def release(self) -> None:
        """What was held goes on, not in the order in which it came."""
        self.dice.shuffle(self.held)
        while self.held:
            route = self.held.pop()
            with suppress(Exception):
                route.fulfill(response=route.fetch())


@dataclass
class Phone:
    """A browser of its own, so that it can be killed."""

    driver: Any
    profile: Path
    url: str
    cookies: list[dict[str, str]]
    line: Line
    context: Any = None
    pages: list[Any] = field(default_factory=list)

    def start(self) -> None:
        self.context = self.driver.chromium.launch_persistent_context(
            self.profile,
            executable_path=os.environ.get("CHROMIUM") or shutil.which("chromium"),
            args=SWITCHES,
            service_workers="block",
            base_url=self.url,
            **PHONE,
        )
        self.context.add_cookies(self.cookies)
        self.context.set_default_timeout(20000)
        self.context.route("**/*", self.line.take)
        self.pages = []

    def kill(self) -> None:
        """As when the battery falls out."""
        for process in Path("/proc").iterdir():
            with suppress(OSError, ValueError):
                if f"--user-data-dir={self.profile}".encode() in (process / "cmdline").read_bytes():
                    os.kill(int(process.name), signal.SIGKILL)
        with suppress(Exception):
            self.context.close()

    def open(self, ticket: str) -> Any:
        """A page of the ticket whose script works, or None where the line did not give one."""
        page = self.context.new_page()
        with suppress(Exception):
            page.goto(f"/tickets/{ticket}", timeout=6000)
            page.wait_for_selector("html.js", timeout=6000)
            self.pages.append(page)
            return page
        page.close()
        return None


def walks(shop: Path, times: int, first_seed: int) -> Trial:
    """So many walks, each with a seed of its own; what was lost is named with its seed."""
    from playwright.sync_api import sync_playwright

    lost: list[str] = []
    entered = 0
    with serving(shop) as port, sync_playwright() as driver:
        url = f"http://127.0.0.1:{port}"
        cookies = [
            {"name": name, "value": token, "url": url}
            for name, _, token in (pair.partition("=") for pair in badge.cookie(shop).split("; "))
        ]
        for seed in range(first_seed, first_seed + times):
            phones = [
                Phone(
                    driver,
                    shop / f"phone-{seed}-{number}",
                    url,
                    cookies,
                    Line(random.Random(f"{seed} {number}")),
                )
                for number in range(2)
            ]
            found, count = walk(shop, phones, random.Random(seed))
            lost += [f"seed {seed}: {one}" for one in found]
            entered += count
            print(f"  walk {seed}: {count} values, {'; '.join(found) or 'none lost'}", flush=True)
    says = (
        "; ".join(lost[:5]) or f"{entered} values entered, each in the store or before a person who chooses"
    )
    return Trial(f"walks of two phones, seeds from {first_seed}", times, len(lost), says)


def walk(shop: Path, phones: list[Phone], dice: random.Random) -> tuple[list[str], int]:
    ticket, entries = str(uuid4()), {}
    for phone in phones:
        phone.start()
        phone.line.bad = False
        phone.open(ticket)
        phone.line.bad = True
    count = 0
    for _ in range(MOVES):
        phone = dice.choice(phones)
        count += move(phone, ticket, dice, entries)
        phone.pages[0].wait_for_timeout(dice.choice((0, 50, 200, 900))) if phone.pages else None
    found = settle(phones, ticket)
    found += missing(shop, ticket, entries)
    found += unlike(shop, phones, ticket)
    for phone in phones:
        phone.context.close()
        shutil.rmtree(phone.profile, ignore_errors=True)
    return found, count


def move(phone: Phone, ticket: str, dice: random.Random, entries: dict[Any, str]) -> int:
    """One thing that happens. Returns how many values a hand entered."""
    what: Callable[[], int] = dice.choices(
        (
            lambda: enter(phone, dice, entries),
            lambda: turn(phone, ticket, "reload", dice),
            lambda: turn(phone, ticket, "close", dice),
            lambda: turn(phone, ticket, "open", dice),
            lambda: turn(phone, ticket, "kill", dice),
            lambda: turn(phone, ticket, "release", dice),
        ),
        weights=(10, 2, 1, 2, 0.5, 2),
    )[0]
    return what()


def turn(phone: Phone, ticket: str, what: str, dice: random.Random) -> int:
    page = dice.choice(phone.pages) if phone.pages else None
    if what == "release":
        phone.line.release()
    elif what == "kill":
        (page or phone.context.new_page()).wait_for_timeout(200)
        phone.kill()
        phone.start()
    elif page and what in ("reload", "close"):
        page.wait_for_timeout(200)
        phone.pages.remove(page)
        with suppress(Exception):
            page.close(run_before_unload=False) if what == "close" else page.reload(timeout=6000)
            if what == "reload":
                page.wait_for_selector("html.js", timeout=6000)
                phone.pages.append(page)
    if what == "open" or not phone.pages:
        for _ in range(6):
            if phone.open(ticket):
                break
    return 0


def enter(phone: Phone, dice: random.Random, entries: dict[Any, str]) -> int:
    """A hand gives one answer on one page; what the page then shows is what has to be found again."""
    if not phone.pages:
        return 0
    page = dice.choice(phone.pages)
    if dice.random() < 0.6:
        part = dice.choice(list(TEXTS))
        step, values = TEXTS[part]
        before = page.evaluate(SHOWN, part)
        page.evaluate("step => { location.hash = step }", step)
        page.fill(f"#a-{part}", dice.choice(values))
        if dice.random() < 0.5:
            page.evaluate("document.activeElement.blur()")
    else:
        id = dice.choice(list(CHOICES))
        page.evaluate("step => { location.hash = step }", CHOICES[id])
        boxes = page.locator(f"[name={id}]:visible, label:has([name={id}]):visible")
        box = page.locator(f"label:has([name={id}])").nth(
            dice.randrange(page.locator(f"[name={id}]").count())
        )
        if not boxes.count():
            return 0
        value = box.locator("input").get_attribute("value")
        part = f"{id}/{value}" if id == "complaints" else id
        before = page.evaluate(SHOWN, part)
        box.click()
    now = page.evaluate(SHOWN, part)
    if now == before:
        return 0
    entries[(id_of(page), part)] = now
    return 1


def id_of(page: Any) -> int:
    return id(page)


def settle(phones: list[Phone], ticket: str) -> list[str]:
    """The line is back: until nothing waits."""
    stuck = []
    for number, phone in enumerate(phones):
        phone.line.bad = False
        phone.line.release()
        for page in phone.pages:
            page.close()
        phone.pages = []
        page = phone.open(ticket)
        for _ in range(120):
            page.evaluate("window.dispatchEvent(new Event('online'))")
            page.wait_for_timeout(250)
            if not page.evaluate(WAITING):
                break
        else:
            stuck.append(f"phone {number} never got rid of its edits")
    return stuck


def missing(shop: Path, ticket: str, entries: dict[Any, str]) -> list[str]:
    """Last values of pages that no edit holds, and edits of hands that nobody replaced who had seen them."""
    store = Store(shop)
    rows, standing = edits.of_ticket(store.db, ticket), edits.standing(store.db, ticket)
    store.close()
    given = {(row.part, row.value) for row in rows}
    found = [
        f"{part} {value!r} is nowhere" for (_, part), value in entries.items() if (part, value) not in given
    ]
    seen = {id for row in rows for id in row.base}
    for row in rows:
        head = standing[row.part]
        if row.by == "hand" and row.id not in seen and row.id not in head.heads and row.value != head.value:
            twins = [other.id for other in rows if (other.part, other.value) == (row.part, row.value)]
            if not (seen | set(head.heads)).intersection(twins):
                found.append(f"{row.part} {row.value!r} was dropped ({row.fate})")
    return found


def unlike(shop: Path, phones: list[Phone], ticket: str) -> list[str]:
    """What a page opened now shows, beside what stands in the store."""
    store = Store(shop)
    standing = edits.standing(store.db, ticket)
    store.close()
    found = []
    for phone in phones:
        page = phone.open(ticket)
        for part, held in standing.items():
            if part.startswith("passed."):
                continue
            shown = page.evaluate(SHOWN, part)
            if held.is_open and not page.locator(f".clash[data-part='{part}']").count():
                found.append(f"{part} clashes out of sight")
            if not held.is_open and shown != held.value:
                found.append(f"{part} shows {shown!r} where {held.value!r} stands")
    return found
