"""A day without a line: twenty walk-ins with photos, a browser that dies twice, a server that is away."""

from __future__ import annotations

import io
from collections import Counter
from typing import Any

import pytest
from PIL import Image

from intake.book.parts import from_pairs
from intake.store import edits

pytestmark = pytest.mark.browser
WALKINS = 20
DIES_DURING = (7, 14)
FAMILIES = ("steel-string", "classical", "electric", "ukulele")
SAYS = "words => document.getElementById('saved').textContent.includes(words)"
WRITTEN_DOWN = """words => new Promise((resolve, reject) => {
  const opening = indexedDB.open("tallyfret-edits");
  opening.onerror = reject;
  opening.onsuccess = () => {
    const under = opening.result.transaction(["edits", "photos"]), found = [];
    for (const name of ["edits", "photos"]) {
      under.objectStore(name).getAll().onsuccess = ({ target }) => found.push(...target.result);
    }
    under.oncomplete = () => {
      opening.result.close();
      resolve(JSON.stringify(found.filter((one) => one.state !== "stored")).includes(words));
    };
  };
})"""
NOTHING_WAITS = """() => { const { hidden, dataset } = document.getElementById("kept");
  return hidden && !dataset.offline; }"""


def photo(number: int) -> dict[str, Any]:
    """A picture like no other of the day."""
    content = io.BytesIO()
    Image.new("RGB", (64 + number, 48), (10 * number % 256, 120, 200)).save(content, "JPEG")
    return {"name": f"{number}.jpg", "mimeType": "image/jpeg", "buffer": content.getvalue()}


def expected(number: int) -> dict[str, dict[str, str]]:
    """What is typed of walk-in `number`, by step."""
    return {
        "customer": {"customer_name": f"Customer {number}", "customer_phone": f"555 01{number:02}"},
        "instrument": {"family": FAMILIES[number % 4], "serial": f"S{number}"},
        "player": {"complaints": "buzz", "complaint_words": f"It buzzes, said number {number}."},
        "neck": {"relief": f"0.0{number + 5:02} in"},
    }


def go_to(page: Any, step: str) -> None:
    page.evaluate("step => { location.hash = step }", step)
    page.wait_for_selector(f"#{step}.now")


def fill_in(page: Any, number: int, step: str) -> None:
    go_to(page, step)
    for name, value in expected(number)[step].items():
        if name in ("family", "complaints"):
            page.locator(f"label:has([name={name}][value={value}])").click()
        else:
            page.fill(f"#a-{name}", value)


def opened_again(pocket: Any, shop: Any, name: str) -> Any:
    """The browser comes back, with its board of what is on the phone, and opens that ticket."""
    pocket.start()
    pocket.page.goto(f"{shop.url}/")
    pocket.page.locator(".kept .ticket", has_text=name).click()
    pocket.page.wait_for_selector("html.js")
    return pocket.page


def test_an_offline_day_arrives_whole_and_once(shop: Any, pocket: Any, until: Any) -> None:
    pocket.page.goto(f"{shop.url}/")
    until(pocket.page, "navigator.serviceWorker.controller !== null")
    until(pocket.page, "caches.match('/walkin').then(Boolean)")
    shop.stop()
    for number in range(1, WALKINS + 1):
        page = pocket.page
        page.goto(f"{shop.url}/walkin")
        page.wait_for_selector("html.js")
        for step in ("customer", "instrument"):
            fill_in(page, number, step)
        if number in DIES_DURING:
            until(page, WRITTEN_DOWN, f"S{number}")
            pocket.kill()
            page = opened_again(pocket, shop, f"Customer {number}")
            assert page.input_value("#a-serial") == f"S{number}"
            assert page.is_checked(f"[name=family][value={FAMILIES[number % 4]}]")
        for step in ("player", "neck"):
            fill_in(page, number, step)
        go_to(page, "originality-and-photos")
        page.set_input_files("[name=photos][multiple]", photo(number))
        until(page, SAYS, "7 answers, 1 photo")
    pocket.page.goto(f"{shop.url}/")
    pocket.page.wait_for_selector(f".kept .tickets li:nth-child({WALKINS})")
    shop.start(build="the next version")
    pocket.page.evaluate("window.dispatchEvent(new Event('online'))")
    wait_for_photos(pocket.page, shop.ctx)
    until(pocket.page, NOTHING_WAITS)
    check(shop.ctx)


def wait_for_photos(page: Any, ctx: Any) -> None:
    """A photo goes after its steps. (A board just opened says for a moment that nothing waits.)"""
    for _ in range(4800):
        if ctx.store.db.table("photos").count == WALKINS:
            return
        page.wait_for_timeout(50)


def parts_of(book: Any, answers: dict[str, str]) -> dict[str, str]:
    kinds = {id: question.kind for id, question in book.questions.items()}
    return from_pairs(kinds, answers.items())


def check(ctx: Any) -> None:
    """The server holds exactly the day's tickets, every answer, every photo, once."""
    db = ctx.store.db
    tickets = {row["name"]: row["id"] for row in db.table("tickets").rows}
    assert set(tickets) == {f"Customer {number}" for number in range(1, WALKINS + 1)}
    assert db.table("tickets").count == WALKINS
    for number in range(1, WALKINS + 1):
        ticket = tickets[f"Customer {number}"]
        held = {part: one.value for part, one in edits.standing(db, ticket).items()}
        for answers in expected(number).values():
            assert held.items() >= parts_of(ctx.book, answers).items(), number
        given = [row.part for row in edits.of_ticket(db, ticket)]
        assert len(given) == len(set(given))
    photos = [(row["ticket"], row["sha256"]) for row in db.table("photos").rows]
    assert Counter(ticket for ticket, _ in photos) == Counter(tickets.values())
    assert len({sha for _, sha in photos}) == WALKINS
