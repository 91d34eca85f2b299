"""Where the work costs more than its share of the worth: only what the customer came for, or leaving it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from intake.book.model import TIERS, Tier
from intake.quoting.complaints import answered_by
from intake.quoting.job_requests import job_requests, without_held
from intake.quoting.model import Assessment, Offer
from intake.quoting.offers import Basis, Costed, make_offer
from intake.quoting.order import among, before, unhindered
from intake.quoting.plan import Plan, absorb, close_offer


def too_dear(offer: Offer, basis: Basis) -> bool:
    """Whether an offer costs more than the share of the worth that the book warns of."""
    limit = basis.book.shop.worth_warning
    return bool(limit) and offer.worth_share is not None and offer.worth_share > limit


def with_economy(
    offers: Mapping[Tier, Offer],
    plan: Plan,
    costed: Mapping[str, Costed],
    assessment: Assessment,
    basis: Basis,
) -> dict[Tier, Offer]:
    """The offers, first of them an economy one where the usual is too dear and a cheaper way is not."""
    if not too_dear(offers["put_right"], basis):
        return dict(offers)
    economy = _economy(plan, costed, assessment, basis)
    cheaper = economy is not None and economy.jobs and economy.total < offers["playable"].total
    if economy is None or not cheaper or too_dear(economy, basis):
        return dict(offers)
    return {"economy": economy, **{tier: offers[tier] for tier in TIERS}}


def _economy(plan: Plan, costed: Mapping[str, Costed], assessment: Assessment, basis: Basis) -> Offer | None:
    """The smallest offer less what answers no complaint; None where its jobs do not stand alone anywhere."""
    facts, book = assessment.facts, basis.book
    asked, _ = without_held(job_requests(assessment.findings, facts, book), assessment.findings, book)
    wanted = {job for job in plan.offers["playable"].jobs if answered_by(book.jobs[job], facts, book)}
    members, _ = close_offer(wanted, asked, book)
    earlier = before(members, book)
    one = absorb(among(members, earlier), unhindered(earlier, book), asked, book)
    if not set(one.jobs) <= costed.keys():
        return None
    return replace(make_offer("economy", one, costed, basis), tier="economy")
