"""What a customer picks from a quote: jobs added or dropped, closed under what they need, with price and day.

Everything starts from the frozen quote and its own book, so that the figures are those of the same core that
made the quote. A choice that is one of the quote's offers keeps that offer's money to the cent.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from intake.book.model import TIERS, Book
from intake.quoting.calendar import Bench
from intake.quoting.complaints import raised
from intake.quoting.effort import hours_together
from intake.quoting.job_requests import JobRequest, job_requests, needs_of, without_held
from intake.quoting.model import Booking, Offer, Quote
from intake.quoting.offers import Basis, make_offer
from intake.quoting.order import among, before, reach, unhindered
from intake.quoting.plan import Plan, absorb, close_offer
from intake.quoting.quote import cost_jobs


@dataclass(frozen=True)
class Selection:
    """`offer` is what was picked, closed and priced; its jobs stand alone, in bench order.

    `picked`: what was asked for. `needed_by`: job that nobody picked → the picked ones that cannot be done
    without it. `within`: picked job → the picked one it is done in, at no price of its own. `instead`: job
    that was picked, or that a picked one would need → the stronger one that takes its place.
    """

    offer: Offer
    picked: frozenset[str]
    needed_by: Mapping[str, tuple[str, ...]]
    within: Mapping[str, str]
    instead: Mapping[str, str]


class Menu:
    """One quote as something to pick from. `start` is the day of the yes, `booked` what is promised.

    `whole` is the price that an amount of discount is for.
    """

    def __init__(
        self, quote: Quote, book: Book, start: date | None = None, booked: Sequence[Booking] = ()
    ) -> None:
        assessment = quote.assessment
        self.quote, self.book = quote, book
        self.jobs = {job.id: job for job in quote.jobs}
        kept, _ = without_held(
            job_requests(assessment.findings, assessment.facts, book), assessment.findings, book
        )
        self._asked: Mapping[str, JobRequest] = raised(kept, assessment.facts, book)
        self.today = max(start or quote.made_on, quote.made_on)
        self.answer_by = max(quote.answer_by, self.today)
        self._as_quoted = self.today == quote.made_on and tuple(booked) == quote.booked
        bench = Bench(book.shop, self.today, booked)
        usual, worth = quote.offers["put_right"], assessment.facts.get("worth")
        self.whole = quote.whole or usual.before or quote.offers["everything"].before
        together = hours_together(assessment.facts)
        self._basis = Basis(
            book, bench, self.today, bench, self.answer_by, worth, quote.discount, self.whole, together
        )

    def needs(self, job: str) -> set[str]:
        """All that must be done if that job is, however far away."""
        return reach(job, lambda other: needs_of(other, self._asked, self.book)) - {job}

    def without(self, picked: Iterable[str], job: str) -> tuple[frozenset[str], tuple[str, ...]]:
        """The picked jobs less that one and all that need it; and which those were."""
        chosen = frozenset(picked)
        rest = [other for other in self.jobs if other in chosen and other != job]
        gone = tuple(other for other in rest if job in self.needs(other))
        return frozenset(rest) - set(gone), gone

    def select(self, picked: Iterable[str]) -> Selection:
        """The jobs of the quote that were picked, closed under what they need, and priced.

        Raises KeyError for a job that the quote does not have.
        """
        wanted = frozenset(picked)
        for id in wanted:
            self.jobs[id]
        members, replaced = close_offer(set(wanted) | self._inside(wanted), self._asked, self.book)
        plan = self._plan(members)
        standing = plan.offers["put_right"]
        offer = self._known(wanted) or self._priced(plan)
        return Selection(
            offer=offer,
            picked=wanted,
            needed_by={
                job: tuple(other for other in self.jobs if other in wanted and job in self.needs(other))
                for job in offer.jobs
                if job not in wanted
            },
            within={job: outer for job, outer in standing.absorbed.items() if job in wanted},
            instead={job: other for job, other in replaced.items() if job in self.jobs},
        )

    def planned_now(self, picked: Iterable[str]) -> Offer:
        """The same offer as the bench does it with a yes today: its plan, and the day then promised."""
        offer = self.select(picked).offer
        at_once = replace(self._basis, bench=self._basis.bench_today, answer_by=self.today)
        now = self._priced(self._plan_of(offer), at_once)
        plan = now if now.ready <= offer.ready else offer
        return replace(
            offer, ready=offer.first_day, schedule=plan.schedule, critical=plan.critical, slack=plan.slack
        )

    def _inside(self, wanted: frozenset[str]) -> set[str]:
        """What the picked jobs take in wherever the quote holds them, and nobody can pick by itself."""
        inside = {inner for id in wanted for inner in self.jobs[id].includes if inner in self.book.jobs}
        return inside - self.jobs.keys()

    def _plan(self, members: set[str]) -> Plan:
        """A plan of one offer, under every tier's name."""
        earlier = before(members, self.book)
        one = absorb(among(members, earlier), unhindered(earlier, self.book), self._asked, self.book)
        return Plan(
            jobs=one.jobs,
            quantities={job: self._asked[job].quantity if job in self._asked else 1 for job in members},
            because={},
            replaced={},
            offers=dict.fromkeys(TIERS, one),
            forecast=frozenset(),
            held=(),
        )

    def _known(self, wanted: frozenset[str]) -> Offer | None:
        """The quote's own offer of just these jobs, with its day worked out anew where the bench changed."""
        for offer in self.quote.offers.values():
            if frozenset(offer.jobs) == wanted:
                if self._as_quoted and offer.ready_today:
                    return offer
                again = self._priced(self._plan_of(offer))
                return replace(
                    offer,
                    ready=again.ready,
                    ready_today=again.ready_today,
                    schedule=again.schedule,
                    critical=again.critical,
                    slack=again.slack,
                )
        return None

    def _plan_of(self, offer: Offer) -> Plan:
        inside = {inner for several in offer.includes.values() for inner in several}
        members, _ = close_offer({*offer.jobs, *inside}, self._asked, self.book)
        return self._plan(members)

    def _priced(self, plan: Plan, basis: Basis | None = None) -> Offer:
        costed = cost_jobs(plan, self.quote.assessment.facts, self.book)
        return make_offer("put_right", plan.offers["put_right"], costed, basis or self._basis)
