"""What quoting hands on, stage by stage. Plain data; `to_json.quote_json` is the contract for tools."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from intake.book.model import Hours, Severity, Tier
from intake.book.text import Text
from intake.trade.registry import Reading

AT_HOME = timedelta(days=7)
Value = str | bool | Fraction | tuple[Any, ...] | Mapping[str, Any]


@dataclass(frozen=True)
class Walkin:
    """What the counter took down: raw answers as typed, and how each step was passed.

    `language` is the customer's, "" where nobody said. `assumed`: answers taken as usual, or from an earlier
    visit.
    """

    answers: Mapping[str, Any]
    not_assessed: frozenset[str] = frozenset()
    by_eye: frozenset[str] = frozenset()
    title: str = ""
    why: str = ""
    language: str = ""
    assumed: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Evidence:
    """One input that made a finding: its value and the limit it met, both as people write them."""

    id: str
    value: str
    limit: str


@dataclass(frozen=True)
class Finding:
    """`item` holds the pin (or other listed thing) of an `each` table, with `item["number"]` from 1.

    `holds`: what a stop takes out of the quote. `may_follow`: jobs that are not quoted today, and may come.
    `told`: said to the customer although nothing is wrong.
    """

    id: str
    severity: Severity
    says: Text
    evidence: tuple[Evidence, ...]
    caution: Text | None = None
    holds: tuple[str, ...] = ()
    item: Mapping[str, Any] | None = None
    may_follow: tuple[str, ...] = ()
    told: bool = False


@dataclass(frozen=True)
class Assessment:
    """`facts`: every id a table may test. `problems`: question id → sentence for refused answers."""

    facts: Mapping[str, Value]
    readings: Mapping[str, Reading]
    findings: tuple[Finding, ...]
    not_measured: tuple[str, ...]
    by_eye: frozenset[str]
    not_assessed: frozenset[str]
    problems: Mapping[str, str]
    assumed: frozenset[str] = frozenset()


@dataclass(frozen=True)
class PlannedJob:
    """A job that stands on its own in at least one offer.

    `hours` and `price` (labour plus parts, before tax) are for the whole quantity, before what it shares
    with other jobs. `tier` is the lowest offer that holds it, `includes` what it absorbs in any offer.
    `waits`: worsens, holds or dangerous; `if_it_waits` says it in words. `answers`: the customer's complaints
    that it, or what it absorbs, is an answer to.
    `own`: those of the reasons that ask for this job, not only for one that it may take in.
    """

    id: str
    name: Text
    quantity: int
    tier: Tier
    hours: Hours
    price: Decimal
    labour: Decimal
    parts: tuple[tuple[str, Fraction, Decimal], ...]
    includes: tuple[str, ...]
    because: tuple[str, ...]
    reasons: tuple[Text, ...]
    instead_of: tuple[str, ...]
    forecast: bool
    caution: Text | None
    own: tuple[Text, ...] = ()
    answers: tuple[str, ...] = ()
    waits: str = ""
    if_it_waits: Text | None = None


@dataclass(frozen=True)
class Line:
    """A line of an offer besides its jobs.

    `kind`: shared, supplies, minimum, discount, tax or rounding; `included` for a tax that is in the
    prices, which stands only among an offer's `taxes`.
    """

    kind: str
    name: Text
    amount: Decimal


@dataclass(frozen=True)
class Discount:
    """What staff take off a ticket, and why: a share of the sum (0.1 is 10 %), an amount, or both.

    `most` is the share that whoever gave it may give; None where that was not written down. Raises ValueError
    for less than nothing, more than all, or no reason.
    """

    reason: str
    rate: Decimal = Decimal(0)
    amount: Decimal = Decimal(0)
    most: Decimal | None = None

    def __post_init__(self) -> None:
        if not self.reason.strip():
            raise ValueError("A discount has a reason; the quote prints it.")
        if not 0 <= self.rate <= 1:
            raise ValueError("A discount is between 0 % and 100 %.")
        if self.amount < 0:
            raise ValueError("A discount is not less than nothing.")


@dataclass(frozen=True)
class Booking:
    """Bench hours promised to another ticket, on the bench from `not_before` on; None: at once."""

    hours: Fraction
    not_before: date | None = None


@dataclass(frozen=True)
class Stretch:
    """One piece of the plan by day: work on the bench, or a wait."""

    job: str
    kind: str
    start: datetime
    end: datetime


@dataclass(frozen=True)
class Block:
    """One job on the bench: its hours at the 80 % figure, its wait, and the jobs that it comes after.

    A block with `splits` False is not divided by closing time, unless no day is long enough for it.
    """

    job: str
    hours: Fraction
    wait: timedelta = timedelta()
    wait_kind: str = ""
    splits: bool = True
    after: tuple[str, ...] = ()

    @property
    def at_home(self) -> bool:
        """A settling wait of a week or more: the customer has the instrument, and comes back after it."""
        return self.wait_kind == "settle" and self.wait >= AT_HOME


@dataclass(frozen=True)
class Offer:
    """jobs: ids in bench order. Job prices plus `lines` (added tax among them) equal `total`.

    `ready`: with a yes by the last day for an answer, as `schedule` has it; `ready_today`: with a yes on the
    day of the quote. Quotes of earlier versions have the first only. `blocks`: the jobs for the calendar, not
    kept with the quote.

    `hours_low` and `hours_high`: one such ticket in ten is quicker, one in ten slower. `includes`: job →
    what it absorbs in this offer. `critical`: the jobs that set the ready day, in order; `slack`: job →
    open hours by which it may start later without making the ready moment later. `taxes`: each tax by name,
    added or included. `deposit`: what is due before work starts.
    """

    tier: Tier
    jobs: tuple[str, ...]
    lines: tuple[Line, ...]
    hours_low: Fraction
    hours_high: Fraction
    hours_p80: Fraction
    labour: Decimal
    parts: Decimal
    tax: Decimal
    total: Decimal
    ready: date
    worth_share: Decimal | None
    ready_today: date | None = None
    schedule: tuple[Stretch, ...] = ()
    includes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    critical: tuple[str, ...] = ()
    slack: Mapping[str, Fraction] = field(default_factory=dict)
    taxes: tuple[Line, ...] = ()
    deposit: Decimal = Decimal(0)
    blocks: tuple[Block, ...] = field(default=(), compare=False, repr=False, metadata={"kept": False})

    @property
    def first_day(self) -> date:
        """The day on which it is ready with a yes at once."""
        return self.ready_today or self.ready

    @property
    def of_jobs(self) -> Decimal:
        """The prices of the jobs alone, without the lines beside them."""
        return self.total - sum((line.amount for line in self.lines), Decimal(0))

    @property
    def before(self) -> Decimal:
        """The price before discount and added tax."""
        besides = (line.amount for line in self.lines if line.kind in ("supplies", "minimum"))
        return self.labour + self.parts + sum(besides, Decimal(0))


@dataclass(frozen=True)
class Quote:
    """`booked`: what was on the bench already; with the walk-in, the book, the day and the discount it makes
    the same quote again. `whole`: the price that an amount of discount is for; less work has its share."""

    assessment: Assessment
    jobs: tuple[PlannedJob, ...]
    held: tuple[str, ...]
    offers: Mapping[Tier, Offer]
    cautions: tuple[Text, ...]
    currency: str
    book_digest: str
    made_on: date
    answer_by: date
    valid_until: date
    notes: tuple[Text, ...] = field(default=())
    headlines: tuple[Text, ...] = ()
    discount: Discount | None = None
    booked: tuple[Booking, ...] = ()
    whole: Decimal | None = None

    def distinct_offers(self) -> tuple[tuple[Offer, tuple[Tier, ...]], ...]:
        """Offers shown to a customer: those that hardly differ once, with the tiers they stand for.

        Of two in one the one that the shop would do is shown, else the smaller.
        """
        shown: list[tuple[Offer, tuple[Tier, ...]]] = []
        for tier, offer in self.offers.items():
            if shown and tier != "put_right" and not self._apart(shown[-1][0], offer):
                shown[-1] = (shown[-1][0], (*shown[-1][1], tier))
            elif shown and "economy" not in shown[-1][1] and not self._apart(shown[-1][0], offer):
                shown[-1] = (offer, (*shown[-1][1], tier))
            else:
                shown.append((offer, (tier,)))
        return tuple(shown)

    def _apart(self, smaller: Offer, fuller: Offer) -> bool:
        """Whether they differ by a job for a finding of work or a complaint, or by a tenth of the total."""
        more = [job for job in self.jobs if job.id in fuller.jobs and job.id not in smaller.jobs]
        severe = {f.id for f in self.assessment.findings if f.severity in ("work", "stop")}
        answered = {one for job in self.jobs if job.id in smaller.jobs for one in job.answers}
        return bool(
            any(severe.intersection(job.because) or set(job.answers) - answered for job in more)
            or abs(fuller.total - smaller.total) * 10 > smaller.total
        )
