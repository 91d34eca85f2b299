"""A book and a walk-in in, a quote out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from intake.book.lists import parse_wait
from intake.book.model import TIERS, Book, Job, Text, Tier
from intake.quoting.assess import assess
from intake.quoting.calendar import Block, schedule
from intake.quoting.effort import Work, added, carried, mean, net_hours, p80, scaled
from intake.quoting.model import Assessment, Offer, PlannedJob, Quote, Walkin
from intake.quoting.notes import notes
from intake.quoting.plan import OfferPlan, Plan, make_plan
from intake.quoting.price import JobPrice, price_job, price_offer
from intake.trade.registry import Reading


@dataclass(frozen=True)
class Costed:
    """A planned job with everything that its circumstances change."""

    job: Job
    quantity: int
    work: Work
    price: JobPrice
    wait: timedelta


def make_quote(book: Book, walkin: Walkin, today: date, booked_hours: Fraction = Fraction(0)) -> Quote:
    """The quote for a walk-in on a day. `booked_hours`: bench work already promised to others.

    Raises TableError where a `unique` table has two answers, NeverOpen for a shop without hours.
    """
    return quote_assessment(book, assess(book, walkin), today, booked_hours)


def quote_assessment(
    book: Book, assessment: Assessment, today: date, booked_hours: Fraction = Fraction(0)
) -> Quote:
    """The same from an assessment that is already there."""
    plan = make_plan(assessment, book)
    answer_by = today + timedelta(days=book.shop.answer_days)
    costed = cost_jobs(plan, assessment.facts, book)
    offers = _offers(plan, costed, assessment, book, answer_by, booked_hours)
    jobs = tuple(_planned(costed[id], plan, offers) for id in plan.jobs if _tier(id, offers))
    return Quote(
        assessment=_with_worth_share(assessment, offers["put_right"]),
        jobs=jobs,
        held=plan.held,
        offers=offers,
        cautions=_cautions(assessment, jobs),
        currency=book.shop.currency,
        book_digest=book.digest,
        made_on=today,
        answer_by=answer_by,
        valid_until=today + timedelta(days=book.shop.valid_days),
        notes=notes(assessment, offers, jobs, plan.held, answer_by, book),
    )


def cost_jobs(plan: Plan, facts: Mapping[str, object], book: Book) -> dict[str, Costed]:
    """Hours, price and wait of each job that stands alone, by itself."""
    return {id: _cost(book.jobs[id], plan.quantities[id], facts, book) for id in plan.jobs}


def _cost(job: Job, quantity: int, facts: Mapping[str, object], book: Book) -> Costed:
    item = {"job": job.id, "group": job.group}
    factor, wait = Fraction(1), job.wait
    for hit in book.factors.evaluate(facts, item):
        factor *= hit.outputs.get("factor", 1)
        wait = max(wait, parse_wait(str(hit.outputs.get("wait", ""))))
    fitted = [
        (hit.outputs["part"], Fraction(hit.outputs.get("quantity", 1)))
        for hit in book.fitting.evaluate(facts, item)
    ]
    parts = [(id, count * quantity) for id, count in (*job.parts, *fitted)]
    work = Work(job.id, scaled(job.hours, factor * quantity), job.operations)
    return Costed(job, quantity, work, price_job(job, work, factor, parts, book.parts, book.shop), wait)


def _offers(
    plan: Plan,
    costed: Mapping[str, Costed],
    assessment: Assessment,
    book: Book,
    answer_by: date,
    booked_hours: Fraction,
) -> dict[Tier, Offer]:
    """The three offers. A fuller offer that costs less takes the place of the smaller one."""
    worth = assessment.facts.get("worth")
    offers: dict[Tier, Offer] = {}
    above: Tier | None = None
    for tier in reversed(TIERS):
        if above and plan.offers[tier] == plan.offers[above]:
            offers[tier] = replace(offers[above], tier=tier)
        else:
            offers[tier] = _offer(tier, plan.offers[tier], costed, worth, book, answer_by, booked_hours)
        if above and offers[above].total < offers[tier].total:
            offers[tier] = replace(offers[above], tier=tier)
        above = tier
    return {tier: offers[tier] for tier in TIERS}


def _offer(
    tier: Tier,
    plan: OfferPlan,
    costed: Mapping[str, Costed],
    worth: object,
    book: Book,
    answer_by: date,
    booked_hours: Fraction,
) -> Offer:
    several = [costed[id] for id in plan.jobs]
    works = [one.work for one in several]
    operations = carried(works, book.operations)
    money = price_offer(works, operations, {one.job.id: one.price for one in several}, book)
    net = net_hours(works, operations)
    total_hours, safe = added(net.values()), p80(net.values())
    stretch = safe / mean(total_hours) if mean(total_hours) else Fraction(1)
    blocks = [_block(one, mean(net[one.job.id]) * stretch) for one in several]
    stretches, ready = schedule(blocks, book.shop, answer_by, booked_hours if blocks else Fraction(0))
    return Offer(
        tier=tier,
        jobs=plan.jobs,
        lines=money.lines,
        hours_low=total_hours.quick,
        hours_high=total_hours.slow,
        hours_p80=safe,
        labour=money.labour,
        parts=money.parts,
        tax=money.tax,
        total=money.total,
        ready=ready,
        worth_share=_share(money.total, worth),
        schedule=stretches,
        includes={id: inside for id in plan.jobs if (inside := plan.includes(id))},
    )


def _block(one: Costed, hours: Fraction) -> Block:
    return Block(one.job.id, one.job.stage, hours, one.wait, one.job.wait_kind, one.job.splits)


def _share(total: Decimal, worth: object) -> Decimal | None:
    """The total over what the instrument is worth, to the thousandth."""
    if not isinstance(worth, Fraction) or worth <= 0:
        return None
    return Decimal(round(Fraction(total) / worth * 1000)).scaleb(-3)


def _planned(one: Costed, plan: Plan, offers: Mapping[Tier, Offer]) -> PlannedJob:
    id = one.job.id
    inside = (inner for offer in offers.values() for inner in offer.includes.get(id, ()))
    return PlannedJob(
        id=id,
        name=one.job.name,
        quantity=one.quantity,
        tier=_tier(id, offers) or TIERS[-1],
        hours=one.work.hours,
        price=one.price.total,
        labour=one.price.labour,
        parts=one.price.parts,
        includes=tuple(dict.fromkeys(inside)),
        because=_once(finding.id for finding in plan.because[id]),
        reasons=_different(finding.says for finding in plan.because[id]),
        instead_of=plan.replaced.get(id, ()),
        forecast=id in plan.forecast,
        caution=one.job.caution,
    )


def _tier(id: str, offers: Mapping[Tier, Offer]) -> Tier | None:
    return next((tier for tier, offer in offers.items() if id in offer.jobs), None)


def _once(ids: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(ids))


def _different(texts: Iterable[Text]) -> tuple[Text, ...]:
    kept: list[Text] = []
    for text in texts:
        if text not in kept:
            kept.append(text)
    return tuple(kept)


def _cautions(assessment: Assessment, jobs: Sequence[PlannedJob]) -> tuple[Text, ...]:
    given = [finding.caution for finding in assessment.findings] + [job.caution for job in jobs]
    return _different(caution for caution in given if caution)


def _with_worth_share(assessment: Assessment, offer: Offer) -> Assessment:
    """The reading `worth_share` is that of the offer the shop would make its own."""
    if offer.worth_share is None:
        return assessment
    share = Reading("worth_share", Fraction(offer.worth_share), "ratio")
    return replace(assessment, readings={**assessment.readings, share.id: share})
