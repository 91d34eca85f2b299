"""Everything a quote's template prints, worked out and put into words beforehand."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from babel.numbers import get_currency_precision
from markupsafe import Markup

from intake.book.model import Book, Text, Tier
from intake.paper import labels
from intake.paper.drawings.body import View, body_drawings
from intake.paper.drawings.fretboard import fretboard_drawing
from intake.paper.drawings.neck import neck_drawing
from intake.paper.errors import PaperError
from intake.paper.formats import Formats
from intake.paper.measures import Measure, also_measured, is_metric, measured
from intake.quoting.model import Finding, Offer, PlannedJob, Quote, Walkin
from intake.quoting.phrases import joined, phrase

# Lines of other kinds (shared work) come first; rounding is the last thing done to a sum.
LINE_ORDER = {"supplies": 1, "minimum": 2, "tax": 3, "rounding": 4}


@dataclass(frozen=True)
class OfferView:
    """One way to go, as its card says it. `marked`: the one the shop would do."""

    name: str
    same_as: str
    marked: bool
    total: str
    tax: str
    hours: str
    ready: str
    deposit: str
    worth: str


@dataclass(frozen=True)
class JobView:
    """A row of the work: `prices` has one cell an offer, empty where the offer has no such job.

    A reason that several jobs share is printed with one of them; `as_for` sends the others there.
    """

    number: int
    name: str
    quantity: str
    reasons: list[str]
    as_for: str
    includes: str
    parts: str
    forecast: str
    hours: str
    prices: list[str]


@dataclass(frozen=True)
class SumRow:
    """A line under the jobs, one cell an offer; `kind` is `jobs`, a line's kind, `total` or `note`."""

    kind: str
    name: str
    amounts: list[str]


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
        self.shown = quote.distinct_offers()

    def make(self) -> QuoteView:
        quote, book, formats, language = self.quote, self.book, self.formats, self.language
        family, pins = str(self.facts.get("family", "")), self._pins()
        metric = is_metric(self.walkin, "action_bass_12")
        return QuoteView(
            customer=self._words("customer_name", "customer_phone", "customer_email"),
            instrument=self._instrument(),
            complaint=labels.words(self.walkin.answers, "complaint_words"),
            complaints=self._complaints(),
            measures=measured(quote, book, self.walkin, formats, language),
            also=also_measured(quote, book, formats, language),
            neck=neck_drawing(self.facts, formats, bool(quote.offers["put_right"].jobs), metric),
            fretboard=fretboard_drawing(self.facts, formats, is_metric(self.walkin, "crown_height")),
            body=body_drawings(family, pins, formats),
            pins=[self._pin(pin, i) for i, pin in enumerate(pins, start=1)],
            stops=self._stops(),
            held="".join(text.in_(language) for text in self._held()),
            watch=[f.says.in_(language) for f in self._unanswered() if f.severity in ("watch", "work")],
            offers=[self._offer(offer, tiers) for offer, tiers in self.shown],
            jobs=self._jobs(),
            sums=self._sums(),
            cautions=self._cautions(),
            not_assessed=self._not_assessed(),
            not_measured=self._not_measured(),
            by_eye=self._by_eye(),
            notes=self._texts([*(note for note in quote.notes if note not in self._held()), book.shop.note]),
            terms=self._texts(book.shop.terms),
        )

    def _texts(self, texts: Sequence[Text | None]) -> list[str]:
        """In the language, each once, empty ones left out."""
        return list(dict.fromkeys(t.in_(self.language) for t in texts if t and t.in_(self.language)))

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
        return self._texts([text for f in stops for text in (f.says, f.caution)])

    def _cautions(self) -> list[str]:
        stops = set(self._stops())
        texts = [*self.quote.cautions, *(job.caution for job in self.quote.jobs if self._stands(job))]
        return [text for text in self._texts(texts) if text not in stops]

    def _stands(self, job: PlannedJob) -> bool:
        return any(job.id in offer.jobs for offer, _ in self.shown)

    def _offer(self, offer: Offer, tiers: tuple[Tier, ...]) -> OfferView:
        _, formats, shop = self.formats.say, self.formats, self.book.shop
        tier: Tier = "put_right" if "put_right" in tiers else tiers[-1]
        alone = len(self.shown) == 1
        others = [self._tier(other) for other in tiers if other != tier and not alone]
        worth = offer.worth_share
        return OfferView(
            name=_("The work") if alone else self._tier(tier),
            same_as=_("The same work as {offers}").format(offers=", ".join(others)) if others else "",
            marked=tier == "put_right" and not alone,
            total=formats.money(offer.total),
            tax=self._tax(offer),
            hours=_("{hours} h at the bench").format(hours=formats.hours(offer.hours_low, offer.hours_high)),
            ready=_("Ready {day}").format(day=formats.weekday(offer.ready)),
            deposit=_("{amount} deposit to start").format(amount=formats.money(self._deposit(offer)))
            if shop.deposit_rate and offer.total
            else "",
            worth=_("{share} of what the instrument is worth").format(share=formats.percent(worth))
            if worth is not None and worth >= shop.worth_warning
            else "",
        )

    def _tier(self, tier: Tier) -> str:
        return phrase(tier).in_(self.language)

    def _tax(self, offer: Offer) -> str:
        _ = self.formats.say
        if not offer.tax:
            return ""
        name = self.book.shop.tax_name.in_(self.language)
        return _("with {tax} {amount}").format(tax=name, amount=self.formats.money(offer.tax))

    def _deposit(self, offer: Offer) -> Decimal:
        cent = Decimal(1).scaleb(-get_currency_precision(self.quote.currency))
        return (offer.total * self.book.shop.deposit_rate).quantize(cent, ROUND_HALF_UP)

    def _jobs(self) -> list[JobView]:
        jobs = [job for job in self.quote.jobs if self._stands(job)]
        homes: dict[str, int] = {}  # a reason's first job; one that has no other reason comes before
        for number, job in sorted(enumerate(jobs, 1), key=lambda item: (len(item[1].reasons) > 1, item[0])):
            for reason in self._texts(job.reasons):
                homes.setdefault(reason, number)
        return [self._job(job, number, homes) for number, job in enumerate(jobs, 1)]

    def _job(self, job: PlannedJob, number: int, homes: Mapping[str, int]) -> JobView:
        """`homes`: reason → number of the job that prints it."""
        language, price = self.language, self.formats.money(job.price)
        includes = [labels.job(self.book, id_, language) for id_ in job.includes]
        reasons = self._texts(job.reasons)
        elsewhere = sorted({homes[reason] for reason in reasons if homes[reason] != number})
        return JobView(
            number=number,
            name=job.name.in_(language),
            quantity=self._quantity(job),
            reasons=[reason for reason in reasons if homes[reason] == number],
            as_for=self._as_for(elsewhere),
            includes=", ".join(includes),
            parts=", ".join(self._part(*part) for part in job.parts),
            forecast=self._forecast(job),
            hours=self.formats.hours(job.hours.quick, job.hours.slow),
            prices=[price if job.id in offer.jobs else "" for offer, _ in self.shown],
        )

    def _as_for(self, numbers: Sequence[int]) -> str:
        _ = self.formats.say
        if not numbers:
            return ""
        return _("For the same reason as job {numbers}").format(numbers=", ".join(map(str, numbers)))

    def _quantity(self, job: PlannedJob) -> str:
        if job.quantity == 1:
            return ""
        known = self.book.jobs.get(job.id)
        per = known.per.in_(self.language) if known and known.per else ""
        return f"× {job.quantity}" + (f" ({per})" if per else "")

    def _part(self, id_: str, quantity: Any, price: Decimal) -> str:
        known = self.book.parts.get(id_)
        name = known.name.in_(self.language) if known else id_
        times = f" × {self.formats.number(quantity, 2)}" if quantity != 1 else ""
        return f"{name}{times} {self.formats.money(price)}"

    def _forecast(self, job: PlannedJob) -> str:
        if not job.forecast:
            return ""
        _, known, planned = self.formats.say, self.book.jobs.get(job.id), {j.id for j in self.quote.jobs}
        after = [id_ for id_ in (known.forecast_after if known else ()) if id_ in planned]
        names = [labels.job(self.book, id_, self.language) for id_ in after]
        if not names:
            return _("Forecast: measured again before it is done")
        return _("Forecast: measured again after “{jobs}”").format(jobs="”, “".join(names))

    def _sums(self) -> list[SumRow]:
        """Subtotal of the jobs, the offers' other lines, the total. Raises PaperError on a false sum."""
        _, money, offers = self.formats.say, self.formats.money, [offer for offer, _ in self.shown]
        prices = {job.id: job.price for job in self.quote.jobs}
        jobs = [sum((prices[id_] for id_ in offer.jobs), Decimal(0)) for offer in offers]
        for offer, subtotal in zip(offers, jobs, strict=True):
            if subtotal + sum(line.amount for line in offer.lines) != offer.total:
                raise PaperError(f"The offer “{offer.tier}” does not add up, so it is not printed.")
        rows = [SumRow("jobs", _("Jobs"), [money(amount) for amount in jobs])]
        for kind, name in self._line_names():
            amounts = [self._amount(offer, kind, name) for offer in offers]
            rows.append(SumRow(kind, name, ["" if found is None else money(found) for found in amounts]))
        rows.append(SumRow("total", _("Total"), [money(offer.total) for offer in offers]))
        if self.book.shop.tax_included and any(offer.tax for offer in offers):
            tax = _("of which {tax}").format(tax=self.book.shop.tax_name.in_(self.language))
            rows.append(SumRow("note", tax, [money(offer.tax) for offer in offers]))
        return rows

    def _amount(self, offer: Offer, kind: str, name: str) -> Decimal | None:
        """What an offer's lines of that kind and name come to; None without one."""
        lines = [x.amount for x in offer.lines if (x.kind, x.name.in_(self.language)) == (kind, name)]
        return sum(lines, Decimal(0)) if lines else None

    def _line_names(self) -> list[tuple[str, str]]:
        """Kind and name of every line that any offer has, in the order in which they are reckoned."""
        names = dict.fromkeys(
            (line.kind, line.name.in_(self.language))
            for offer, _ in reversed(self.shown)
            for line in offer.lines
        )
        return sorted(names, key=lambda name: LINE_ORDER.get(name[0], 0))

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
