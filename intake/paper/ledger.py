"""Offers, jobs and sums of a quote in words: the part of the paper that has to add up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from intake.book.model import Book, Tier
from intake.paper.errors import PaperError
from intake.paper.formats import Formats
from intake.paper.job_texts import JobWords
from intake.quoting.model import Offer, PlannedJob, Quote
from intake.quoting.phrases import phrase

# Lines of other kinds (shared work) come first; rounding is the last thing done to a sum.
LINE_ORDER = {"supplies": 1, "minimum": 2, "discount": 3, "tax": 4, "rounding": 5}


@dataclass(frozen=True)
class OfferView:
    """One way to go, as its card says it. `marked`: the one the shop would do. `last`: the day with a late
    yes."""

    name: str
    same_as: str
    marked: bool
    total: str
    tax: str
    hours: str
    ready: str
    last: str
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
    waits: str
    hours: str
    prices: list[str]


@dataclass(frozen=True)
class SumRow:
    """A line under the jobs, one cell an offer; `kind` is `jobs`, a line's kind, `total` or `note`."""

    kind: str
    name: str
    amounts: list[str]


class Ledger:
    """The offers of one quote, each different one once, and what they are made of."""

    def __init__(self, quote: Quote, book: Book, formats: Formats, language: str) -> None:
        self.quote, self.book, self.formats, self.language = quote, book, formats, language
        self.shown = quote.distinct_offers()
        self.words = JobWords(book, formats, language)

    def offers(self) -> list[OfferView]:
        """The cards, from the smallest offer to the fullest."""
        return [self._offer(offer, tiers) for offer, tiers in self.shown]

    def _offer(self, offer: Offer, tiers: tuple[Tier, ...]) -> OfferView:
        _, formats, shop = self.formats.gettext, self.formats, self.book.shop
        tier: Tier = "put_right" if "put_right" in tiers else tiers[-1]
        alone = len(self.shown) == 1
        others = [self._tier(other) for other in tiers if other != tier and not alone]
        worth = offer.worth_share
        return OfferView(
            name=_("The work") if alone else self._tier(tier),
            same_as=_("The same work as {offers}", offers=", ".join(others)) if others else "",
            marked=tier == "put_right" and not alone,
            total=formats.money(offer.total),
            tax=self._tax(offer),
            hours=_("{hours} h at the bench", hours=formats.hours(offer.hours_low, offer.hours_high)),
            ready=_("Ready {day}", day=formats.weekday(offer.first_day)),
            last=self._last(offer),
            deposit=_("{amount} deposit to start", amount=formats.money(offer.deposit))
            if offer.deposit
            else "",
            worth=_("{share} of what the instrument is worth", share=formats.percent(worth))
            if worth is not None and worth >= shop.worth_warning
            else "",
        )

    def _last(self, offer: Offer) -> str:
        """When it is ready with a yes by the last day; "" where a yes at once says the same."""
        _, formats = self.formats.gettext, self.formats
        if offer.ready == offer.first_day:
            return ""
        last, day = formats.weekday(offer.ready), formats.day(self.quote.answer_by)
        return _("{last} with a yes by {day}", last=last, day=day)

    def _tier(self, tier: Tier) -> str:
        return phrase(tier).in_(self.language)

    def _tax(self, offer: Offer) -> str:
        _ = self.formats.gettext
        if not offer.tax:
            return ""
        name = ", ".join(tax.name.in_(self.language) for tax in offer.taxes)
        return _("with {tax} {amount}", tax=name, amount=self.formats.money(offer.tax))

    def jobs(self) -> list[JobView]:
        """The jobs that stand in any offer, numbered in bench order."""
        held = {id_ for offer in self.quote.offers.values() for id_ in offer.jobs}
        jobs = [job for job in self.quote.jobs if job.id in held]
        reasons = self.words.reasons(jobs, self.quote.offers["put_right"].jobs)
        return [self._job(job, number, *reasons[job.id]) for number, job in enumerate(jobs, 1)]

    def _job(self, job: PlannedJob, number: int, reasons: list[str], as_for: str) -> JobView:
        price = self.formats.money(job.price)
        return JobView(
            number=number,
            name=job.name.in_(self.language),
            quantity=self.words.quantity(job),
            reasons=reasons,
            as_for=as_for,
            includes=self.words.names(job.includes),
            parts=", ".join(
                f"{self.words.part(id_, count)} {self.formats.money(amount)}"
                for id_, count, amount in job.parts
            ),
            forecast=self.words.forecast_priced(job, {each.id for each in self.quote.jobs}),
            waits=self.words.waits(job),
            hours=self.formats.hours(job.hours.quick, job.hours.slow),
            prices=[price if job.id in offer.jobs else "" for offer, _ in self.shown],
        )

    def sums(self) -> list[SumRow]:
        """Subtotal of the jobs, the offers' other lines, the total. Raises PaperError on a false sum."""
        _, money, offers = self.formats.gettext, self.formats.money, [offer for offer, _ in self.shown]
        prices = {job.id: job.price for job in self.quote.jobs}
        jobs = [sum((prices[id_] for id_ in offer.jobs), Decimal(0)) for offer in offers]
        for offer, subtotal in zip(offers, jobs, strict=True):
            if subtotal + sum(line.amount for line in offer.lines) != offer.total:
                raise PaperError(
                    _("The offer “{offer}” does not add up, so it is not printed.", offer=offer.tier)
                )
        rows = [SumRow("jobs", _("Jobs"), [money(amount) for amount in jobs])]
        for kind, name in self._line_names():
            amounts = [self._amount(offer, kind, name) for offer in offers]
            rows.append(SumRow(kind, name, ["" if found is None else money(found) for found in amounts]))
        rows.append(SumRow("total", _("Total"), [money(offer.total) for offer in offers]))
        return rows + self._included_taxes(offers)

    def _included_taxes(self, offers: Sequence[Offer]) -> list[SumRow]:
        """A row under the total for each tax that is in the prices."""
        _, money, none = self.formats.gettext, self.formats.money, Decimal(0)
        each = [
            {tax.name.in_(self.language): tax.amount for tax in offer.taxes if tax.kind == "included"}
            for offer in offers
        ]
        names = dict.fromkeys(name for taxes in each for name in taxes)
        rows = {name: [money(taxes.get(name, none)) for taxes in each] for name in names}
        return [SumRow("note", _("of which {tax}", tax=name), row) for name, row in rows.items()]

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
