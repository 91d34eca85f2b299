"""What the wizard says of a ticket: the quote as it would be now, its range, and who found what."""

from __future__ import annotations

import logging
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from threading import Lock
from typing import Any

from intake.book.model import Book, Question
from intake.quoting.bands import forecast_band
from intake.quoting.calendar import Bench
from intake.quoting.model import Booking, Discount, Finding, Offer, PlannedJob, Quote, Walkin
from intake.quoting.quote import make_quote, open_bench
from intake.quoting.reasons import reason_homes
from intake.services.assumptions import sources
from intake.services.walkins import as_json

NO_PRICE: dict[str, str | None] = {"total": None, "currency": None, "ready": None}
log = logging.getLogger(__name__)
Bookings = tuple[Booking, ...]


@dataclass(frozen=True)
class Estimate:
    """A quote with what its pages ask of it."""

    book: Book
    quote: Quote

    @property
    def jobs(self) -> Mapping[str, PlannedJob]:
        return {job.id: job for job in self.quote.jobs}

    @property
    def usual(self) -> Offer:
        """What the shop would do: the offer that the board shows."""
        return self.quote.offers["put_right"]

    @property
    def low(self) -> Decimal:
        """The smallest sum for which anything is done."""
        return min(offer.total for offer in self.quote.offers.values() if offer.jobs)

    @property
    def high(self) -> Decimal:
        return max(offer.total for offer in self.quote.offers.values())

    @property
    def not_measured(self) -> Mapping[str, tuple[Question, ...]]:
        """Step id → its questions that were asked for and not measured, steps in order."""
        questions = self.book.questions
        missing = [questions[id] for id in self.quote.assessment.not_measured if id in questions]
        found = {step.id: tuple(q for q in missing if q.step == step.id) for step in self.book.steps}
        return {step: open_ones for step, open_ones in found.items() if open_ones}

    def findings_of(self, step: str) -> tuple[Finding, ...]:
        """Findings that an answer of the step brought about, itself or through a reading."""
        return tuple(found for found in self.quote.assessment.findings if step in self._steps(found))

    def _steps(self, finding: Finding) -> set[str]:
        ids = {id for evidence in finding.evidence for id in sources(evidence.id)}
        if finding.item is not None:
            ids.add("pins")
        return {self.book.questions[id].step for id in ids if id in self.book.questions}

    def board_price(self) -> dict[str, str | None]:
        """What the ticket's row on the board says of the price."""
        usual = self.usual
        day = usual.first_day.isoformat()
        return {"total": str(usual.total), "currency": self.quote.currency, "ready": day}

    def context(self) -> dict[str, Any]:
        """The names that `wizard/summary.html` and `quotes/quote.html` use."""
        return {
            "summary": self,
            "quote": self.quote,
            "offers": self.quote.distinct_offers(),
            "jobs": self.jobs,
            "bands": {job.id: forecast_band(job, self.book) for job in self.quote.jobs},
            "reason_homes": reason_homes(self.quote.jobs, self.usual.jobs),
            "cautions": self.quote.cautions,
            "not_measured": self.not_measured,
            "problems": self.quote.assessment.problems,
        }


class Estimates:
    """Summaries of late, so that a save, the page that follows it and the freezing share one."""

    def __init__(self, book: Book, size: int = 64) -> None:
        self.book = book
        self.size = size
        self._recent: OrderedDict[tuple[object, ...], Estimate] = OrderedDict()
        self._bench: tuple[date, Bookings, Bench] | None = None
        self._lock = Lock()

    def of(
        self, walkin: Walkin, today: date, booked: Bookings = (), discount: Discount | None = None
    ) -> Estimate | None:
        """The quote as it would be today with that on the bench. None before the family is known.

        A price that cannot be worked out is written to the log and gives None too: it must never cost
        anybody what they typed.
        """
        if "family" not in walkin.answers:
            return None
        key = (today, as_json(walkin), discount)
        with self._lock:
            known = self._recent.get(key)
            if known and known.quote.booked == booked:
                self._recent.move_to_end(key)
                return known
        try:
            bench = self.bench_of(today, booked)
            quote = make_quote(self.book, walkin, today, booked=booked, adjust=discount, bench=bench)
            summary = Estimate(self.book, quote)
        except Exception:
            log.exception("no price for this walk-in")
            return None
        with self._lock:
            self._recent[key] = summary
            while len(self._recent) > self.size:
                self._recent.popitem(last=False)
        return summary

    def bench_of(self, today: date, booked: Bookings) -> Bench:
        """The bench with that on it; kept while it stays the same, since filling it takes its time."""
        held = self._bench
        if held and held[:2] == (today, booked):
            return held[2]
        bench = open_bench(self.book, today, booked=booked)
        self._bench = (today, booked, bench)
        return bench
