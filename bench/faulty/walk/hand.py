"""What a hand does on one page: each action enters something and names the questions that it touched."""

from __future__ import annotations

import io
import random
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from PIL import Image

from faulty.walk.notes import Entry, Notes
from faulty.walk.phone import Page

WORDS = {
    "customer_name": "customer",
    "maker_words": "instrument",
    "serial": "instrument",
    "complaint_words": "player",
}
MEASURES = {"relief": "neck", "body_hump": "neck"}
CHOICES = {
    "accessories": "customer",
    "handed": "instrument",
    "history": "instrument",
    "complaints": "player",
    "attack": "player",
    "twist": "neck",
    "board_state": "neck",
}
FRETS = range(1, 9)
MOMENT = 600
"""Within so many milliseconds a second touch of one place is a bounce."""
ROW_LEFT = "id => document.getElementById(id).nextElementSibling.scrollLeft"
CENTRE = """selector => {
  const target = [...document.querySelectorAll(selector)].find((one) => one.checkVisibility());
  target.scrollIntoView({ block: "center" });
  const { left, top, width, height } = target.getBoundingClientRect();
  return [left + width / 2, top + height / 2];
}"""
Questions = tuple[str, ...] | None


class Missed(Exception):
    """The page has no such place at the moment."""


@dataclass
class Hand:
    """`number` makes values that no other entry of the walk has."""

    dice: random.Random
    notes: Notes
    number: int = 0
    used: dict[str, list[str]] = field(default_factory=dict)

    def act(self, page: Page) -> list[Entry]:
        """One action, with what it changed noted down. What the page lacks is passed over."""
        actions: dict[Callable[[Page], Questions], int] = {
            self.write: 30,
            self.press_value: 14,
            self.choose: 24,
            self.write_on_fret: 8,
            self.bounce: 8,
            self.pass_step: 3,
            self.undo: 3,
            self.scroll_row: 4,
        }
        action = self.dice.choices(list(actions), list(actions.values()))[0]
        return self.settle_clash(page) or self.note(page, action)

    def note(self, page: Page, action: Callable[[Page], Questions]) -> list[Entry]:
        try:
            questions = action(page)
        except Missed:
            return []
        seen = page.read("seen")
        return self.notes.entered(page.phone.name, page.number, seen, questions)

    def value_for(self, question: str, pattern: str) -> str:
        """A new value, or now and then one that another hand has given too."""
        used = self.used.setdefault(question, [])
        if used and self.dice.random() < 0.2:
            return self.dice.choice(used)
        self.number += 1
        used.append(pattern.format(self.number))
        return used[-1]

    def write(self, page: Page) -> Questions:
        """Type into a field, and leave it or not."""
        question = self.dice.choice([*WORDS, *MEASURES, *MEASURES])
        if question in WORDS:
            self._type(page, WORDS[question], question, self.value_for(question, "Ada {}"))
        else:
            self._type(page, MEASURES[question], question, self.value_for(question, "0.{:03} in"))
        return (question,)

    def _type(self, page: Page, step: str, question: str, value: str) -> None:
        page.go_to(step)
        place = page.tab.locator(f"#a-{question}")
        if not place.count():
            raise Missed
        self._tap(page, f"#a-{question}")
        place.fill(value, force=True)
        if self.dice.random() < 0.5:
            page.tab.evaluate("document.activeElement.blur()")

    def press_value(self, page: Page) -> Questions:
        """A value of a gauge's row, in one tap; on the one that is chosen this takes it back."""
        question = self.dice.choice(list(MEASURES))
        page.go_to(MEASURES[question])
        self._tap(page, f"#a-{question} + .rule button:nth-child({self.dice.randint(1, 6)})")
        return (question,)

    def take(self, page: Page, step: str, question: str, value: str) -> Questions:
        """One choice of a question."""
        page.go_to(step)
        self._tap(page, f"label:has([name={question}][value={value}])")
        return (question,)

    def choose(self, page: Page) -> Questions:
        question = self.dice.choice(list(CHOICES))
        page.go_to(CHOICES[question])
        self._tap(page, self._choice(page, question))
        return (question,)

    def _choice(self, page: Page, question: str) -> str:
        count = page.tab.locator(f"[name={question}]").count()
        if not count:
            raise Missed
        return f"label:nth-child({self.dice.randint(1, count)}):has([name={question}])"

    def _tap(self, page: Page, selector: str) -> None:
        try:
            x, y = page.tab.evaluate(CENTRE, selector)
        except Exception:
            raise Missed from None
        page.tab.touchscreen.tap(x, y)

    def write_on_fret(self, page: Page) -> Questions:
        """A value of one's own in the fret sheet, the field not left."""
        page.go_to("frets")
        with suppress(Exception):
            page.tab.locator(".map + button.btn").click(timeout=3000)
            place = page.tab.locator("dialog[open] .ruled input")
            place.focus(timeout=1000)
            place.fill(self.value_for("fret_wear", "0.{:03} in"))
            return ("fret_wear",)
        raise Missed

    def bounce(self, page: Page) -> Questions:
        """A greasy finger: the second touch of one place within a moment takes nothing back."""
        question = self.dice.choice([*MEASURES, *CHOICES])
        page.go_to((MEASURES | CHOICES)[question])
        if question in MEASURES:
            selector = f"#a-{question} + .rule button:nth-child({self.dice.randint(1, 6)})"
        else:
            selector = self._choice(page, question)
        try:
            x, y = page.tab.evaluate(CENTRE, selector)
        except Exception:
            raise Missed from None
        page.tab.touchscreen.tap(x, y)
        once = page.read("seen")
        page.wait(self.dice.randint(20, 300))
        page.tab.touchscreen.tap(x, y)
        again = page.read("now")["parts"]
        given = self.notes.entered(page.phone.name, page.number, once, (question,))
        if page.read("between") < MOMENT:
            for entry in given:
                if again.get(entry.part) != entry.value:
                    now = again.get(entry.part)
                    self.notes.wrong.append(f"a bounce made {now!r} of {entry.part} {entry.value!r}")
        return (question,)

    def pass_step(self, page: Page) -> Questions:
        """All sound, or not assessed; the same again takes it back."""
        step = self.dice.choice(("neck", "strings-and-room"))
        page.go_to(step)
        page.wait(400)
        self._tap(page, f"#{step} .pass {self.dice.choice(('.sound', '.sound', '.off'))}")
        return None

    def undo(self, page: Page) -> Questions:
        """Bring back what was taken back last."""
        if not page.tab.is_visible("#undo button"):
            raise Missed
        self._tap(page, "#undo button")
        return None

    def scroll_row(self, page: Page) -> Questions:
        """A row moved by hand stands still, also when an answer comes."""
        page.go_to("neck")
        with suppress(Exception):
            page.tab.locator("#a-relief + .rule").scroll_into_view_if_needed(timeout=1000)
            page.tab.locator("#a-relief + .rule").hover(force=True, timeout=1000)
            page.tab.mouse.wheel(self.dice.choice((-150, 150, 250)), 0)
            page.wait(250)
            left = page.tab.evaluate(ROW_LEFT, "a-relief")
            self._tap(page, self._choice(page, "twist"))
            page.wait(1300)
            if (now := page.tab.evaluate(ROW_LEFT, "a-relief")) != left:
                self.notes.wrong.append(f"a row moved from {left} to {now}")
            return ("twist",)
        raise Missed

    def settle_clash(self, page: Page) -> list[Entry]:
        """A person who sees a clash may choose."""
        shown = page.read("now")["clashes"]
        if not shown or self.dice.random() < 0.6:
            return []
        part = self.dice.choice(list(shown))
        value = self.dice.choice(shown[part])
        try:
            box = page.tab.locator(f".clash[data-part='{part}']")
            page.go_to(box.evaluate("box => box.closest('[data-step]').id", timeout=1000))
            box.locator(f"button[data-value='{value}']").first.tap(timeout=1500, force=True)
        except Exception:
            return []
        made = Entry(page.phone.name, page.number, part, tuple(shown[part]), value)
        self.notes.entries.append(made)
        return [made]


def photo(number: int) -> dict[str, Any]:
    """A picture like no other."""
    content = io.BytesIO()
    Image.effect_noise((64 + number % 40, 48), 40 + number).convert("RGB").save(content, "JPEG", quality=90)
    return {"name": f"{number}.jpg", "mimeType": "image/jpeg", "buffer": content.getvalue()}


def no_photo() -> dict[str, Any]:
    """What calls itself a picture and is none: the shop refuses it."""
    return {"name": "a.heic", "mimeType": "image/heic", "buffer": b"no picture at all"}
