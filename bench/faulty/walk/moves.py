"""What happens in a walk, one move after the other."""

from __future__ import annotations

import random
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field

from faulty.walk.hand import Hand, no_photo, photo
from faulty.walk.notes import Notes, Photos
from faulty.walk.phone import Page, Phone
from faulty.walk.shop import Shop

PAUSES = (0, 0, 0, 0, 30, 150, 900)
TOLD = """(count) => {
  const notes = [...document.querySelectorAll(".thumbs small")];
  return notes.length >= count && notes.every((note) => note.hidden || note.textContent);
}"""
BESIDE = (195, 90)
"""Somewhere on the page: without a touch no browser asks before a page is left."""
NOT_HERE = "kept on this phone"


@dataclass
class Walk:
    """`ticket` is the id of the one that all phones have open. `refused`: phones with a refused photo."""

    shop: Shop
    phones: list[Phone]
    ticket: str
    dice: random.Random
    notes: Notes = field(default_factory=Notes)
    hand: Hand = field(init=False)
    refused: set[str] = field(default_factory=set)
    was_set_back: bool = False

    def __post_init__(self) -> None:
        self.hand = Hand(self.dice, self.notes)

    def move(self) -> None:
        """One thing that happens, and a pause."""
        phone = self.dice.choice(self.phones)
        self.look_for_pages(phone)
        moves: dict[Callable[[Phone], object], float] = {
            self.enter: 44,
            self.enter_and_leave: 12,
            self.reload: 5,
            self.close: 4,
            self.open: 4,
            self.kill_browser: 8 if phone.kind.profile else 0,
            self.release: 6,
            self.cut: 5,
            self.photos: 5,
            self.photos_and_leave: 3,
            self.refused_photo: 2,
            self.look_at_foot: 5,
            self.kill_server: 2,
            self.load_book: 2.5,
            self.back_up: 1.5,
            self.set_back: 2.5,
        }
        self.dice.choices(list(moves), list(moves.values()))[0](phone)
        if phone.pages:
            phone.pages[0].wait(self.dice.choice(PAUSES))

    def page(self, phone: Phone) -> Page | None:
        """One of its pages; one is opened where there is none."""
        if not phone.pages:
            self.open(phone)
        return self.dice.choice(phone.pages) if phone.pages else None

    def look_for_pages(self, phone: Phone) -> None:
        """No page leaves its ticket by itself."""
        for page in list(phone.pages):
            if self.ticket not in page.tab.url:
                self.notes.wrong.append(f"a page of {phone.name} left its ticket for {page.tab.url}")
                phone.pages.remove(page)

    # ---- hands

    def enter(self, phone: Phone) -> None:
        if page := self.page(phone):
            for _ in range(self.dice.choice((1, 1, 1, 2, 3))):
                self.hand.act(page)

    def enter_and_leave(self, phone: Phone) -> None:
        """A reload, or another tab, within 0.2 s."""
        if page := self.page(phone):
            self.hand.act(page)
            page.wait(self.dice.randint(0, 200))
            self.dice.choice((self.reload, self.reload, self.close))(phone, page)

    def photos(self, phone: Phone) -> None:
        if page := self.page(phone):
            chosen = self._choose(page, self.dice.choice((1, 2)))
            chosen.told = self.photos_told(page)
            self.look_at_foot(phone)

    def photos_told(self, page: Page) -> bool:
        """Do all photos chosen on this page say what has become of them?"""
        count = sum(chosen.count for chosen in self.notes.photos if chosen.page == page.number)
        for _ in range(80):
            if page.tab.evaluate(TOLD, count):
                return True
            page.wait(50)
        return False

    def photos_and_leave(self, phone: Phone) -> None:
        """Six photos, and the page is left at once."""
        if not phone.kind.has_database or not (page := self.page(phone)):
            return
        self._choose(page, 6)
        page.wait(150)
        self.reload(phone, page)

    def _choose(self, page: Page, count: int) -> Photos:
        files = [photo(self.dice.randrange(1000)) for _ in range(count)]
        page.go_to("originality-and-photos")
        page.tab.touchscreen.tap(*BESIDE)
        chosen = Photos(page.number, count)
        self.notes.photos.append(chosen)
        page.tab.set_input_files("[name=photos][multiple]", files)
        return chosen

    def refused_photo(self, phone: Phone) -> None:
        """What the shop refuses stays here, and the foot says so."""
        if phone.name in self.refused or not phone.kind.has_database or not (page := self.page(phone)):
            return
        self.refused.add(phone.name)
        page.go_to("originality-and-photos")
        page.tab.set_input_files("[name=photos][multiple]", [no_photo()])
        page.wait(300)

    # ---- pages

    def reload(self, phone: Phone, page: Page | None = None) -> None:
        page = page or self.page(phone)
        if page and self._may_leave(page):
            self._gone(phone, page, phone.reload(page))

    def close(self, phone: Phone, page: Page | None = None) -> None:
        page = page or self.page(phone)
        if page and self._may_leave(page):
            phone.close(page)
            self._gone(phone, page, None)

    def open(self, phone: Phone) -> None:
        """Another page of it; after a few tries without a line the line is mended, as people walk nearer."""
        if len(phone.pages) > 2:
            return
        for attempt in range(4):
            if page := phone.open(self.ticket):
                self.compare(page)
                return
            if attempt == 1:
                phone.line.cut = False
                self.shop.start()
        phone.line.bad, was_bad = False, phone.line.bad
        if page := phone.open(self.ticket):
            self.compare(page)
        phone.line.bad = was_bad

    def _may_leave(self, page: Page) -> bool:
        """Where nothing can be kept, people stay until the foot says that it is saved."""
        return page.phone.kind.has_database or self._foot(page)["state"] in ("", "saved")

    def _gone(self, phone: Phone, page: Page, after: Page | None) -> None:
        """The page was left. What it asked about may be gone."""
        if page.asked:
            self.notes.excuse(page.number, self._written(after or next(iter(phone.pages), None)))
            self.notes.excuse_photos(page.number, told_too=not phone.kind.has_database)
        if after:
            self.compare(after)

    def _written(self, page: Page | None) -> set[tuple[str, str]]:
        with suppress(Exception):
            if page:
                return {(one["part"], one["value"]) for one in page.read("kept") if "part" in one}
        return set()

    def compare(self, page: Page) -> None:
        """What this phone's hands gave last is in sight on a page opened now, unless others gave more."""
        phone = page.phone
        if not phone.kind.has_database:
            return
        seen = page.read("now")
        for part, last in self.notes.last_of(phone.name).items():
            if not last.value or part not in seen["parts"] or part in seen["clashes"] or last.weak:
                continue
            if self.notes.is_excused(last):
                continue
            given = {entry.value for entry in self.notes.entries if entry.part == part}
            if (shown := seen["parts"][part]) not in given:
                self.notes.wrong.append(f"{phone.name} shows {shown!r} in {part}, given was {last.value!r}")

    def kill_browser(self, phone: Phone) -> None:
        """With kill -9; what the database had taken by then is there afterwards."""
        if not phone.kind.profile:
            return
        kept = self._written(phone.pages[0]) if phone.pages else set()
        dying = [page.number for page in phone.pages]
        phone.kill()
        for number in dying:
            self.notes.excuse(number, kept)
            self.notes.excuse_photos(number, told_too=False)
        phone.start()
        self.open(phone)

    # ---- the line and the shop

    def release(self, phone: Phone) -> None:
        phone.line.release()

    def cut(self, phone: Phone) -> None:
        """The line goes, or comes back."""
        phone.line.cut = not phone.line.cut
        if not phone.line.cut:
            for page in phone.pages:
                with suppress(Exception):
                    page.tab.evaluate("window.dispatchEvent(new Event('online'))")

    def kill_server(self, _: Phone) -> None:
        self.shop.kill()
        if self.dice.random() < 0.7:
            self.shop.start()

    def load_book(self, _: Phone) -> None:
        self.shop.load_book(self.dice.choice(("usual", "moved", "without", "without")))
        if self.dice.random() < 0.3:
            self.shop.load_many_books()

    def back_up(self, _: Phone) -> None:
        self.shop.back_up()

    def set_back(self, _: Phone) -> None:
        """Back to the newest backup. A phone without a database keeps nothing to send again."""
        if all(phone.kind.has_database for phone in self.phones):
            self.was_set_back |= self.shop.set_back(self.ticket)
            self.shop.start()

    # ---- the foot

    def look_at_foot(self, phone: Phone) -> None:
        """ "Saved" only when nothing waits; "kept on this phone" only where it can be kept."""
        for page in phone.pages:
            if phone.kind.has_database:
                self._hold_to_saved(page)
            elif NOT_HERE in page.tab.inner_text("body"):
                self.notes.wrong.append(f"{phone.name} has no database and says “{NOT_HERE}”")

    def _hold_to_saved(self, page: Page) -> None:
        waits = 0
        for _ in range(3):  # the foot follows by a moment
            foot, held = self._foot(page), page.read("kept")
            waits = sum(one["state"] != "stored" for one in held)
            if foot["state"] != "saved" or not waits:
                return
            page.wait(400)
        self.notes.wrong.append(f"{page.phone.name} says “{foot['words']}” while {waits} wait")

    def _foot(self, page: Page) -> dict[str, str]:
        found: dict[str, str] = page.read("foot")
        return found
