"""Everything a quote's template prints, worked out and put into words beforehand."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from markupsafe import Markup

from intake.book.model import Book
from intake.book.text import Text
from intake.paper import labels
from intake.paper.drawings.clearance import clearance_drawing
from intake.paper.drawings.fretboard import fretboard_drawing
from intake.paper.drawings.neck import neck_drawing
from intake.paper.formats import Formats
from intake.paper.intake_summary import IntakeSummary
from intake.paper.ledger import JobView, Ledger, OfferView, SumRow
from intake.paper.measures import Measure, also_measured, measured, metric_facts
from intake.paper.terms import terms_of
from intake.quoting.model import Finding, Quote, Walkin
from intake.quoting.outcome import outcome
from intake.quoting.phrases import joined, phrase

UNEASY = ("watch", "work")


@dataclass(frozen=True)
class PrintedQuote:
    """The whole quote. Texts are plain strings (the template escapes them), drawings are markup."""

    taken: IntakeSummary
    measures: list[Measure]
    also: list[tuple[str, str]]
    neck: Markup
    fretboard: Markup
    clearance: Markup
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
    assumed: list[tuple[str, str]]
    headlines: list[str]
    notes: list[str]
    terms: list[str]


class _Maker:
    """Holds what every part of the view needs; `make` is the only door."""

    def __init__(self, quote: Quote, book: Book, walkin: Walkin, formats: Formats, language: str) -> None:
        self.quote, self.book, self.walkin = quote, book, walkin
        self.formats, self.language = formats, language
        self.facts = quote.assessment.facts
        self.taken = IntakeSummary(book, walkin.answers, self.facts, formats, language)

    def make(self) -> PrintedQuote:
        quote, book, formats, language = self.quote, self.book, self.formats, self.language
        taken, ledger = self.taken, Ledger(quote, book, formats, language)
        metric = metric_facts(self.walkin, book)
        return PrintedQuote(
            taken=taken,
            measures=measured(quote, book, self.walkin, formats, language),
            also=also_measured(quote, book, formats, language),
            neck=neck_drawing(self.facts, formats, self._outcome(), metric),
            fretboard=fretboard_drawing(self.facts, formats, "crown_height" in metric),
            clearance=clearance_drawing({**self.facts, **book.beside}, formats, "relief" in metric),
            stops=self._stops(),
            held="".join(text.in_(language) for text in self._held()),
            watch=[f.says.in_(language) for f in self._unanswered() if f.told or f.severity in UNEASY],
            offers=ledger.offers(),
            jobs=ledger.jobs(),
            sums=ledger.sums(),
            cautions=self._cautions(),
            not_assessed=taken.steps(quote.assessment.not_assessed),
            not_measured=self._not_measured(),
            by_eye=taken.by_step(quote.assessment.by_eye),
            assumed=taken.by_step(quote.assessment.assumed),
            headlines=labels.texts(language, quote.headlines),
            notes=self._notes(),
            terms=terms_of(book.shop, language),
        )

    def _outcome(self) -> dict[str, Fraction]:
        """What the work comes to that the shop would do."""
        return outcome(self.facts, self.quote.offers["put_right"], self.quote.jobs)

    def _notes(self) -> list[str]:
        held = self._held()
        notes = [note for note in self.quote.notes if note not in held and note not in self.quote.headlines]
        return labels.texts(self.language, [*notes, self.book.shop.note])

    def _held(self) -> list[Text]:
        """The note about what a stop keeps out of the quote: it belongs with the stop, not with the notes."""
        names = [self.book.jobs[id_].name for id_ in self.quote.held if id_ in self.book.jobs]
        return [phrase("held", jobs=joined(names))] if names else []

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

    def _not_measured(self) -> list[tuple[str, str]]:
        """Step and questions, for steps that were assessed but not wholly."""
        assessment, asked = self.quote.assessment, self.book.questions
        return self.taken.by_step(
            [
                id_
                for id_ in assessment.not_measured
                if id_ not in asked or asked[id_].step not in assessment.not_assessed
            ]
        )


def printed_quote(quote: Quote, book: Book, walkin: Walkin, formats: Formats, language: str) -> PrintedQuote:
    """The view of one quote. Raises PaperError if an offer does not add up."""
    return _Maker(quote, book, walkin, formats, language).make()
