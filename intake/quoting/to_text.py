"""A quote as plain text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from textwrap import fill

from babel.dates import format_date
from babel.numbers import format_currency

from intake.book.model import SEVERITIES, Book, Tier
from intake.quoting.model import Offer, PlannedJob, Quote
from intake.quoting.phrases import phrase

WIDTH = 96
MARKS = {"stop": "STOP", "work": "work", "watch": "watch", "fine": "fine"}


def quote_text(quote: Quote, book: Book) -> str:
    """The whole quote in English, its offers one after the other."""
    return "\n".join(_Writer(quote, book).lines()) + "\n"


class _Writer:
    def __init__(self, quote: Quote, book: Book) -> None:
        self.quote = quote
        self.book = book
        self.jobs = {job.id: job for job in quote.jobs}

    def lines(self) -> Iterator[str]:
        quote = self.quote
        yield f"{self.book.shop.name}, quote of {_day(quote.made_on)}, good until {_day(quote.valid_until)}"
        yield from self._findings()
        for offer, tiers in quote.distinct_offers():
            yield from self._offer(offer, tiers)
        yield from _listed("Cautions", [str(caution) for caution in quote.cautions])
        yield from _listed("Notes", [str(note) for note in quote.notes])
        yield from _listed("Not measured", [self._labels(quote.assessment.not_measured)])
        yield from _listed("Answers not taken", list(quote.assessment.problems.values()))

    def _findings(self) -> Iterator[str]:
        findings = sorted(self.quote.assessment.findings, key=lambda each: -SEVERITIES.index(each.severity))
        yield from ("", "Findings")
        for finding in findings:
            yield _wrapped(f"{MARKS[finding.severity]:<5} {finding.says}", "  ", "        ")
        if not findings:
            yield "  none"

    def _offer(self, offer: Offer, tiers: tuple[Tier, ...]) -> Iterator[str]:
        names = " = ".join(str(phrase(tier)) for tier in tiers)
        yield ""
        if not offer.jobs:
            yield f"{names}: no work"
            return
        yield f"{names}: {self._money(offer.total)}, ready {_day(offer.first_day)} with a go-ahead at once"
        yield f"  or {_day(offer.ready)} with a go-ahead by {_day(self.quote.answer_by)}"
        for id in offer.jobs:
            yield from self._job(self.jobs[id], offer)
        for line in offer.lines:
            yield self._row(str(line.name), self._money(line.amount))
        span = f"{float(offer.hours_low):.1f} to {float(offer.hours_high):.1f} h"
        yield f"  Bench time {span}; {float(offer.hours_p80):.1f} h suffice four times in five"

    def _job(self, job: PlannedJob, offer: Offer) -> Iterator[str]:
        count = f" x {job.quantity}" if job.quantity > 1 else ""
        forecast = " (forecast)" if job.forecast else ""
        yield self._row(f"{job.name}{count}{forecast}", self._money(job.price))
        if inside := offer.includes.get(job.id):
            names = ", ".join(str(self.book.jobs[id].name) for id in inside)
            yield _wrapped(f"with: {names}", "    ", "    ")

    def _row(self, left: str, right: str) -> str:
        return f"  {left:<{WIDTH - 16}}{right:>14}"

    def _money(self, amount: Decimal) -> str:
        return format_currency(amount, self.quote.currency, locale=self.book.shop.locale)

    def _labels(self, ids: tuple[str, ...]) -> str:
        return ", ".join(str(self.book.questions[id].label) for id in ids)


def _listed(heading: str, items: list[str]) -> Iterator[str]:
    kept = [item for item in items if item]
    if kept:
        yield from ("", heading)
        yield from (_wrapped(item, "  ", "  ") for item in kept)


def _wrapped(text: str, first: str, next_: str) -> str:
    return fill(text, WIDTH, initial_indent=first, subsequent_indent=next_)


def _day(day: date) -> str:
    return format_date(day, "d MMMM y", locale="en")
