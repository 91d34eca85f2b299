"""A book and a walk-in in, a quote out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from intake.book.model import TIERS, Book, Job, Tier
from intake.book.text import Text
from intake.book.waits import parse_wait
from intake.quoting.assess import assess
from intake.quoting.calendar import Bench
from intake.quoting.complaints import answered_by
from intake.quoting.economy import with_economy
from intake.quoting.effort import Work, carried, hours_together, scaled
from intake.quoting.model import Assessment, Booking, Discount, Offer, PlannedJob, Quote, Walkin
from intake.quoting.notes import headlines, notes
from intake.quoting.offers import Basis, Costed, make_offers, whole_price
from intake.quoting.plan import Plan, make_plan
from intake.quoting.price import price_job, price_offer
from intake.quoting.waiting import if_it_waits
from intake.trade.registry import Reading


def make_quote(
    book: Book,
    walkin: Walkin,
    today: date,
    booked_hours: Fraction = Fraction(0),
    booked: Sequence[Booking] = (),
    adjust: Discount | None = None,
    bench: Bench | None = None,
) -> Quote:
    """The quote for a walk-in on a day.

    `booked_hours`: bench work already promised to others that stands in the way when this ticket comes up;
    `booked`: the same by ticket and day. `bench`: what `open_bench` gives for these, made once for many
    quotes. Raises TableError where a `unique` table has two answers,
    NeverOpen for a shop without hours.
    """
    return quote_assessment(book, assess(book, walkin), today, booked_hours, booked, adjust, bench)


def quote_assessment(
    book: Book,
    assessment: Assessment,
    today: date,
    booked_hours: Fraction = Fraction(0),
    booked: Sequence[Booking] = (),
    adjust: Discount | None = None,
    bench: Bench | None = None,
) -> Quote:
    """The same from an assessment that is already there."""
    plan = make_plan(assessment, book)
    bench = bench or open_bench(book, today, booked_hours, booked)
    bench_today = _bench_from(book, today, today, booked_hours, booked) if booked_hours else bench
    answer_by = answer_day(book, today)
    costed = cost_jobs(plan, assessment.facts, book)
    facts = assessment.facts
    basis = Basis(
        book, bench_today, today, bench, answer_by, facts.get("worth"), adjust, together=hours_together(facts)
    )
    if adjust and adjust.amount:
        basis = replace(basis, whole=whole_price(plan, costed, basis))
    offers = with_economy(make_offers(plan, costed, basis), plan, costed, assessment, basis)
    jobs = tuple(
        _planned(costed[id], plan, offers, assessment.facts, book) for id in plan.jobs if _tier(id, offers)
    )
    later = may_follow(assessment, plan, book)
    first = headlines(assessment, offers, jobs, plan.held, book)
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
        headlines=first,
        notes=first + notes(assessment, offers, jobs, plan.held, later, today, answer_by, book, adjust),
        discount=adjust,
        whole=basis.whole or None,
        booked=(*booked, Booking(booked_hours)) if booked_hours else tuple(booked),
    )


def answer_day(book: Book, today: date) -> date:
    """The day by which a yes is assumed: work starts then."""
    return today + timedelta(days=book.shop.answer_days)


def open_bench(
    book: Book, today: date, booked_hours: Fraction = Fraction(0), booked: Iterable[Booking] = ()
) -> Bench:
    """The bench as a quote of that day finds it, with what is booked on it. Raises NeverOpen."""
    return _bench_from(book, answer_day(book, today), today, booked_hours, booked)


def _bench_from(
    book: Book, start: date, today: date, booked_hours: Fraction, booked: Iterable[Booking]
) -> Bench:
    """The same, the undated hours coming up on `start`."""
    return Bench(book.shop, start, (*_from_today(booked, today), Booking(booked_hours)))


def gone_by(book: Book, moment: datetime) -> tuple[Booking, ...]:
    """The part of that day's open hours that has gone by, which nobody can work in any more.

    `moment` is the time on the shop's wall; to the quarter of an hour, so that a bench is filled four times
    an hour and not at every look.
    """
    quarter = timedelta(minutes=15)
    begin = datetime.combine(moment.date(), time())
    at = begin + -(-(moment - begin) // quarter) * quarter
    bench = Bench(book.shop)
    hours = bench.hours(bench.open_time(begin, at))
    return (Booking(hours, moment.date()),) if hours else ()


def _from_today(booked: Iterable[Booking], today: date) -> Iterable[Booking]:
    """What is planned for a past day and still booked has not been done: it is next."""
    for one in booked:
        late = one.not_before is not None and one.not_before < today
        yield replace(one, not_before=today) if late else one


def cost_jobs(plan: Plan, facts: Mapping[str, object], book: Book) -> dict[str, Costed]:
    """Hours, price and wait of each job that stands alone, by itself."""
    return {id: _cost(book.jobs[id], plan.quantities[id], facts, book) for id in plan.jobs}


def may_follow(assessment: Assessment, plan: Plan, book: Book) -> dict[str, Decimal]:
    """What the findings say may come, each by itself with its total; nothing that is quoted or held."""
    named = _once(id for finding in assessment.findings for id in finding.may_follow)
    return {
        id: _alone(book.jobs[id], assessment.facts, book)
        for id in named
        if id not in plan.quantities and id not in plan.held
    }


def _alone(job: Job, facts: Mapping[str, object], book: Book) -> Decimal:
    one = _cost(job, 1, facts, book)
    return price_offer([one.work], one.carried, {job.id: one.price}, book).total


def _cost(job: Job, quantity: int, facts: Mapping[str, object], book: Book) -> Costed:
    item = {"job": job.id, "group": job.group, "skill": Fraction(job.skill), "quantity": Fraction(quantity)}
    factor, wait = Fraction(1), job.wait
    for hit in book.factors.evaluate(facts, item):
        factor *= multiplier(hit.outputs)
        wait = max(wait, parse_wait(str(hit.outputs.get("wait", ""))))
    fitted = [
        (hit.outputs["part"], Fraction(hit.outputs.get("quantity", 1)))
        for hit in book.fitting.evaluate(facts, item)
    ]
    parts = [(id, count * quantity) for id, count in (*job.parts, *fitted)]
    work = Work(job.id, scaled(job.hours, factor * quantity), job.operations)
    price = price_job(job, work, factor, parts, book.parts, book.shop)
    return Costed(job, quantity, factor, work, carried([work], book.operations), price, wait)


def multiplier(outputs: Mapping[str, Any]) -> Fraction:
    """What a row of factors.csv multiplies the hours by: its factor, and its hours against the usual ones."""
    factor = Fraction(outputs.get("factor", 1))
    return factor * outputs["hours"] / outputs["against"] if "hours" in outputs else factor


def _planned(
    one: Costed, plan: Plan, offers: Mapping[Tier, Offer], facts: Mapping[str, object], book: Book
) -> PlannedJob:
    id = one.job.id
    inside = _once(inner for offer in offers.values() for inner in offer.includes.get(id, ()))
    waits, words = if_it_waits(one.job, facts, book)
    answers = _once(c for each in (id, *inside) for c in answered_by(book.jobs[each], facts, book))
    return PlannedJob(
        id=id,
        name=one.job.name,
        quantity=one.quantity,
        tier=_tier(id, offers) or TIERS[-1],
        hours=one.work.hours,
        price=one.price.total,
        labour=one.price.labour,
        parts=one.price.parts,
        includes=inside,
        because=_once(finding.id for finding in plan.because[id]),
        reasons=_different(finding.says for finding in plan.because[id]),
        instead_of=plan.replaced.get(id, ()),
        forecast=id in plan.forecast,
        caution=one.job.caution,
        own=_different(finding.says for finding in plan.own.get(id, ())),
        answers=answers,
        waits=waits,
        if_it_waits=words,
    )


def _tier(id: str, offers: Mapping[Tier, Offer]) -> Tier | None:
    return next((tier for tier in TIERS if id in offers[tier].jobs), None)


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
