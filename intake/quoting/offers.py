"""The three offers of a plan: each with its hours, its money and its days."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from intake.book.model import TIERS, Book, Hours, Job, Tier
from intake.quoting.calendar import Bench
from intake.quoting.effort import TOGETHER, Z80, Z90, Carried, Total, Work, mean, net_hours, summed
from intake.quoting.model import Block, Discount, Offer
from intake.quoting.plan import OfferPlan, Plan
from intake.quoting.price import JobPrice, price_offer
from intake.quoting.schedule import ready_day, schedule


@dataclass(frozen=True)
class Costed:
    """A planned job with everything that its circumstances change."""

    job: Job
    quantity: int
    factor: Fraction
    work: Work
    carried: tuple[Carried, ...]
    price: JobPrice
    wait: timedelta


@dataclass(frozen=True)
class Basis:
    """What all three offers rest on.

    Each bench has its bookings: work starts on `today`, on `bench_today`, with a yes at once, and on
    `answer_by`, on `bench`, with a yes on the last day. An amount of discount is for a price of `whole`.
    `together`: how far the hours of two jobs go slowly together.
    """

    book: Book
    bench_today: Bench
    today: date
    bench: Bench
    answer_by: date
    worth: object
    discount: Discount | None = None
    whole: Decimal = Decimal(0)
    together: Fraction = TOGETHER


def whole_price(plan: Plan, costed: Mapping[str, Costed], basis: Basis) -> Decimal:
    """What an amount of discount is for: the price, before it, of what the shop would do, else of all that
    could be done."""
    offers = make_offers(plan, costed, replace(basis, discount=None))
    return offers["put_right"].before or offers["everything"].before


def make_offers(plan: Plan, costed: Mapping[str, Costed], basis: Basis) -> dict[Tier, Offer]:
    """The three offers. A fuller offer that costs less takes the place of the smaller one."""
    offers: dict[Tier, Offer] = {}
    above: Tier | None = None
    for tier in reversed(TIERS):
        if above and plan.offers[tier] == plan.offers[above]:
            offers[tier] = replace(offers[above], tier=tier)
        else:
            offers[tier] = make_offer(tier, plan.offers[tier], costed, basis)
        if above and offers[above].total < offers[tier].total:
            offers[tier] = replace(offers[above], tier=tier)
        above = tier
    return {tier: offers[tier] for tier in TIERS}


def make_offer(tier: Tier, plan: OfferPlan, costed: Mapping[str, Costed], basis: Basis) -> Offer:
    """One offer by itself. `costed` holds each of its jobs."""
    several = [costed[id] for id in plan.jobs]
    works = [one.work for one in several]
    operations = [part for one in several for part in one.carried]
    prices = {one.job.id: one.price for one in several}
    money = price_offer(works, operations, prices, basis.book, basis.discount, basis.whole)
    net = net_hours(works, operations)
    hours = summed(net.values(), basis.together)
    blocks = _blocks(plan, several, net, hours)
    days = schedule(blocks, basis.bench, basis.answer_by)
    first = ready_day(blocks, basis.bench_today, basis.today)
    return Offer(
        tier=tier,
        jobs=plan.jobs,
        lines=money.lines,
        hours_low=hours.quantile(-Z90),
        hours_high=hours.quantile(Z90),
        hours_p80=hours.quantile(Z80),
        labour=money.labour,
        parts=money.parts,
        tax=money.tax,
        total=money.total,
        ready=days.ready,
        ready_today=min(first, days.ready),
        worth_share=_share(money.total, basis.worth),
        schedule=days.stretches,
        includes={id: inside for id in plan.jobs if (inside := plan.includes(id))},
        critical=days.critical,
        slack=days.slack,
        taxes=money.taxes,
        deposit=money.deposit,
        blocks=tuple(blocks),
    )


def _blocks(
    plan: OfferPlan, several: Sequence[Costed], net: Mapping[str, Hours], total: Total
) -> list[Block]:
    """The jobs for the calendar, their mean hours stretched so that all together take the 80 % figure."""
    stretch = total.quantile(Z80) / total.mean if total.mean else Fraction(1)
    return [
        Block(
            job=one.job.id,
            hours=mean(net[one.job.id]) * stretch,
            wait=one.wait,
            wait_kind=one.job.wait_kind,
            splits=one.job.splits,
            after=plan.after[one.job.id],
        )
        for one in several
    ]


def _share(total: Decimal, worth: object) -> Decimal | None:
    """The total over what the instrument is worth, to the thousandth."""
    if not isinstance(worth, Fraction) or worth <= 0:
        return None
    return Decimal(round(Fraction(total) / worth * 1000)).scaleb(-3)
