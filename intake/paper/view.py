"""Everything a quote's template prints, worked out and put into words beforehand."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from intake.book.model import Book, Text
from intake.paper import labels
from intake.paper.drawings.body import View, body_drawings
from intake.paper.drawings.clearance import clearance_drawing
from intake.paper.drawings.fretboard import fretboard_drawing
from intake.paper.drawings.neck import neck_drawing
from intake.paper.formats import Formats
from intake.paper.ledger import JobView, Ledger, OfferView, SumRow
from intake.paper.measures import Measure, also_measured, is_metric, measured
from intake.quoting.model import Finding, Quote, Walkin
from intake.quoting.phrases import joined, phrase


@dataclass(frozen=True)
class PinView:
    number: str
    words: str


@dataclass(frozen=True)
class QuoteView:
    """The whole quote. Texts are plain strings (the template escapes them), drawings are markup."""

    customer: list[str]
    instrument: list[str]
    complaint: str
    complaints: str
    measures: list[Measure]
    also: list[tuple[str, str]]
    neck: Markup
    fretboard: Markup
    clearance: Markup
    body: list[View]
    pins: list[PinView]
    stops: list[str]
    held: str
    watch: list[str]
    offers: list[OfferView]
    jobs: list[JobView]
    sums: list[SumRow]
    cautions: list[str]
    not_assessed: str
    not_measured: list[tuple[str, str]]
    by_eye: list[tuple[str, str]]
    notes: list[str]
    terms: list[str]


class _Maker:
    """Holds what every part of the view needs; `make` is the only door."""

    def __init__(self, quote: Quote, book: Book, walkin: Walkin, formats: Formats, language: str) -> None:
        self.quote, self.book, self.walkin = quote, book, walkin
        self.formats, self.language = formats, language
        self.facts = quote.assessment.facts

    def make(self) -> QuoteView:
        quote, book, formats, language = self.quote, self.book, self.formats, self.language
        ledger = Ledger(quote, book, formats, language)
        family, pins = str(self.facts.get("family", "")), self._pins()
        metric = {id_ for id_ in self.walkin.answers if is_metric(self.walkin, id_)}
        return QuoteView(
            customer=self._words("customer_name", "customer_phone", "customer_email"),
            instrument=self._instrument(),
            complaint=labels.words(self.walkin.answers, "complaint_words"),
            complaints=self._complaints(),
            measures=measured(quote, book, self.walkin, formats, language),
            also=also_measured(quote, book, formats, language),
            neck=neck_drawing(self.facts, formats, bool(quote.offers["put_right"].jobs), metric),
            fretboard=fretboard_drawing(self.facts, formats, "crown_height" in metric),
            clearance=clearance_drawing(self.facts, formats, "relief" in metric),
            body=body_drawings(family, pins, formats),
            pins=[self._pin(pin, i) for i, pin in enumerate(pins, start=1)],
            stops=self._stops(),
            held="".join(text.in_(language) for text in self._held()),
            watch=[f.says.in_(language) for f in self._unanswered() if f.severity in ("watch", "work")],
            offers=ledger.offers(),
            jobs=ledger.jobs(),
            sums=ledger.sums(),
            cautions=self._cautions(),
            not_assessed=self._not_assessed(),
            not_measured=self._not_measured(),
            by_eye=self._by_eye(),
            notes=self._notes(),
            terms=labels.texts(self.language, book.shop.terms),
        )

    def _notes(self) -> list[str]:
        held = self._held()
        notes = [note for note in self.quote.notes if note not in held]
        return labels.texts(self.language, [*notes, self.book.shop.note])

    def _held(self) -> list[Text]:
        """The note about what a stop keeps out of the quote: it belongs with the stop, not with the notes."""
        names = [self.book.jobs[id_].name for id_ in self.quote.held if id_ in self.book.jobs]
        return [phrase("held", jobs=joined(names))] if names else []

    def _words(self, *ids: str) -> list[str]:
        return [words for id_ in ids if (words := labels.words(self.walkin.answers, id_))]

    def _choices(self, *ids: str) -> str:
        """The labels of single choices that were answered, joined; what is unknown is left out."""
        known = [id_ for id_ in ids if self.facts.get(id_) not in (None, "unknown")]
        return ", ".join(labels.choice(self.book, id_, self.facts[id_], self.language) for id_ in known)

    def _named(self, *ids: str) -> list[str]:
        """The same, each after the name of its question."""
        colon = " : " if self.language == "fr" else ": "
        chosen = ((id_, self._choices(id_)) for id_ in ids)
        return [
            labels.question(self.book, id_, self.language) + colon + words for id_, words in chosen if words
        ]

    def _instrument(self) -> list[str]:
        _ = self.formats.say
        named = [self._choices("family"), *self._words("maker_words")]
        serial, year = self._words("serial"), self._words("year_about")
        marks = [
            *(_("serial {serial}").format(serial=word) for word in serial),
            *(_("about {year}").format(year=word) for word in year),
        ]
        strings = [
            *(_("{count} strings").format(count=word) for word in self._words("string_count")),
            *self._named("gauge_set"),
        ]
        played = ", ".join(self._named("style", "attack", "tuning"))
        lines = [", ".join(filter(None, named)), ", ".join(marks), ", ".join(strings), played]
        return [line[:1].upper() + line[1:] for line in lines if line]

    def _complaints(self) -> str:
        chosen = self.facts.get("complaints") or ()
        chosen = chosen if isinstance(chosen, tuple) else (chosen,)
        return ", ".join(labels.choice(self.book, "complaints", id_, self.language) for id_ in chosen)

    def _pins(self) -> list[Any]:
        pins = self.facts.get("pins") or ()
        return [pin for pin in pins if isinstance(pin, dict)] if isinstance(pins, tuple | list) else []

    def _pin(self, pin: Any, index: int) -> PinView:
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

    def _unanswered(self) -> list[Finding]:
        """Findings that no job of the plan answers."""
        answered = {id_ for job in self.quote.jobs for id_ in job.because}
        return [f for f in self.quote.assessment.findings if f.id not in answered]

    def _stops(self) -> list[str]:
        stops = [f for f in self.quote.assessment.findings if f.severity == "stop"]
        return labels.texts(self.language, [text for f in stops for text in (f.says, f.caution)])

    def _cautions(self) -> list[str]:
        stops = set(self._stops())
        texts = [*self.quote.cautions, *(job.caution for job in self.quote.jobs)]
        return [text for text in labels.texts(self.language, texts) if text not in stops]

    def _not_assessed(self) -> str:
        left = self.quote.assessment.not_assessed
        return ", ".join(step.name.in_(self.language) for step in self.book.steps if step.id in left)

    def _not_measured(self) -> list[tuple[str, str]]:
        """Step and questions, for steps that were assessed but not wholly."""
        left = self.quote.assessment.not_assessed
        return self._by_step(
            [id_ for id_ in self.quote.assessment.not_measured if self._step(id_) not in left]
        )

    def _by_eye(self) -> list[tuple[str, str]]:
        return self._by_step(self.quote.assessment.by_eye)

    def _step(self, question: str) -> str:
        asked = self.book.questions.get(question)
        return asked.step if asked else ""

    def _by_step(self, questions: Collection[str]) -> list[tuple[str, str]]:
        """The name of each step with the labels of those of its questions, in the book's order."""
        rows = []
        for step in self.book.steps:
            ids = [id_ for id_ in self.book.questions if id_ in questions and self._step(id_) == step.id]
            if ids:
                names = [labels.question(self.book, id_, self.language) for id_ in ids]
                rows.append((step.name.in_(self.language), ", ".join(names)))
        return rows


def quote_view(quote: Quote, book: Book, walkin: Walkin, formats: Formats, language: str) -> QuoteView:
    """The view of one quote. Raises PaperError if an offer does not add up."""
    return _Maker(quote, book, walkin, formats, language).make()
