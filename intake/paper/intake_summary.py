"""What the counter took down, in words: customer, instrument, complaint, places, what was left with it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from intake.book.model import Book
from intake.paper import labels
from intake.paper.drawings.body import View, body_drawings
from intake.paper.formats import Formats


@dataclass(frozen=True)
class PinView:
    """A numbered place on the drawing, and what is there."""

    number: str
    words: str


class IntakeSummary:
    """One walk-in for every document: `answers` as typed, `facts` as read.

    Every method gives plain strings in `language`; what was not answered gives nothing.
    """

    def __init__(
        self,
        book: Book,
        answers: Mapping[str, Any],
        facts: Mapping[str, Any],
        formats: Formats,
        language: str,
    ) -> None:
        self.book, self.answers, self.facts = book, answers, facts
        self.formats, self.language = formats, language

    def customer(self) -> list[str]:
        """Name, telephone, mail address."""
        return self.words("customer_name", "customer_phone", "customer_email")

    def words(self, *ids: str) -> list[str]:
        """Answers as typed."""
        return [words for id_ in ids if (words := labels.words(self.answers, id_))]

    def chosen(self, id_: str) -> list[str]:
        """The labels of what was chosen, of one or several; nothing for "unknown"."""
        value = self.facts.get(id_)
        values = value if isinstance(value, tuple) else (value,)
        known = [each for each in values if each not in (None, "unknown")]
        return [labels.choice(self.book, id_, each, self.language) for each in known]

    def instrument(self) -> list[str]:
        """Family and maker; marks; strings; how it is played: a line each."""
        _ = self.formats.gettext
        marks = [
            *(_("serial {serial}", serial=word) for word in self.words("serial")),
            *(_("about {year}", year=word) for word in self.words("year_about")),
        ]
        strings = [
            *(_("{count} strings", count=word) for word in self.words("string_count")),
            *self._named("gauge_set"),
        ]
        named = [*self.chosen("family"), *self.words("maker_words")]
        lines = [
            ", ".join(each) for each in (named, marks, strings, self._named("style", "attack", "tuning"))
        ]
        return [line[:1].upper() + line[1:] for line in lines if line]

    def _named(self, *ids: str) -> list[str]:
        """Choices, each after the name of its question."""
        colon = self.colon
        return [
            labels.question(self.book, id_, self.language) + colon + ", ".join(words)
            for id_ in ids
            if (words := self.chosen(id_))
        ]

    @property
    def colon(self) -> str:
        """A colon with the language's spaces."""
        return self.formats.pgettext("after a question", ": ")

    def complaints(self) -> str:
        """The complaints that were chosen."""
        return ", ".join(self.chosen("complaints"))

    def complaint(self) -> str:
        """The customer's own words."""
        return labels.words(self.answers, "complaint_words")

    def left_with(self) -> str:
        """Accessories; empty where nobody asked, "Nothing" where nothing was left."""
        return ", ".join(self.chosen("accessories"))

    def _pins(self) -> list[Mapping[str, Any]]:
        pins = self.facts.get("pins") or ()
        return [pin for pin in pins if isinstance(pin, dict)] if isinstance(pins, tuple | list) else []

    def pins(self) -> list[PinView]:
        """The places, numbered as on the drawings."""
        return [self._pin(pin, i) for i, pin in enumerate(self._pins(), start=1)]

    def body(self) -> list[View]:
        """A drawing of each side that has places."""
        family = self.book.families.get(str(self.facts.get("family", "")))
        return body_drawings(family.drawn_as if family else "", self._pins(), self.formats)

    def _pin(self, pin: Mapping[str, Any], index: int) -> PinView:
        words = [
            labels.member(self.book, kind + "s", pin[kind], self.language)
            for kind in ("part", "kind", "state")
            if pin.get(kind)
        ]
        if pin.get("size") is not None:
            words.append(self.formats.measure(pin["size"], "in"))
        if pin.get("count") not in (None, 1):
            words.append(f"× {pin['count']}")
        return PinView(str(pin.get("number", index)), ", ".join(words))

    def steps(self, ids: Collection[str]) -> str:
        """The names of these steps, in the book's order."""
        return ", ".join(step.name.in_(self.language) for step in self.book.steps if step.id in ids)

    def by_step(self, questions: Collection[str]) -> list[tuple[str, str]]:
        """The name of each step with the labels of those of its questions, in the book's order."""
        rows = []
        for step in self.book.steps:
            asked = [q for q in self.book.questions.values() if q.id in questions and q.step == step.id]
            if asked:
                names = ", ".join(question.label.in_(self.language) for question in asked)
                rows.append((step.name.in_(self.language), names))
        return rows
