"""The plan: which jobs stand in which offer, what absorbs what, and the order on the bench.

Each offer is worked out by itself, from the asks of its tier and below:

1. it is closed under `needs` and `needs if found`, and holds what the offer below it holds;
2. the stronger job of an `instead of` takes the weaker one's place;
3. a job is absorbed by one that includes it, unless a third job must come between the two. A job
   wanted in a low offer, included in one that only a higher offer holds, stands alone in the low one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from intake.book.model import TIERS, Book, Tier
from intake.quoting.complaints import raised
from intake.quoting.job_requests import Findings, JobRequest, job_requests, needs_of, without_held
from intake.quoting.model import Assessment, Finding
from intake.quoting.order import Links, among, before, contracted, in_order, possible, reach, unhindered


@dataclass(frozen=True)
class OfferPlan:
    """`jobs` stand alone, in bench order; `absorbed`: job → the one that it is done within.

    `after`: job → those whose work and wait must be over before it starts.
    """

    jobs: tuple[str, ...]
    absorbed: Mapping[str, str]
    after: Mapping[str, tuple[str, ...]]

    def includes(self, job: str) -> tuple[str, ...]:
        return tuple(inner for inner, outer in self.absorbed.items() if outer == job)


@dataclass(frozen=True)
class Plan:
    """All three offers. `jobs`: what stands alone in any of them, in bench order.

    `because`: the findings behind each job, also through jobs that it absorbs, replaces or is needed
    by. `own`: those that ask for the job itself, or only for one that it takes in.
    `replaced`: job → the weaker ones that it stands instead of.
    """

    jobs: tuple[str, ...]
    quantities: Mapping[str, int]
    because: Mapping[str, Findings]
    replaced: Mapping[str, tuple[str, ...]]
    offers: Mapping[Tier, OfferPlan]
    forecast: frozenset[str]
    held: tuple[str, ...]
    own: Mapping[str, Findings] = field(default_factory=dict)


def make_plan(assessment: Assessment, book: Book) -> Plan:
    """Plan all three offers for an assessment."""
    all_asked = job_requests(assessment.findings, assessment.facts, book)
    kept, held = without_held(all_asked, assessment.findings, book)
    asked = raised(kept, assessment.facts, book)
    members: dict[Tier, set[str]] = {}
    replaced: dict[tuple[str, str], None] = {}
    lower: set[str] = set()
    for tier in TIERS:
        seeds = {job for job, ask in asked.items() if TIERS.index(ask.tier) <= TIERS.index(tier)}
        members[tier], gone = close_offer(seeds | lower, asked, book)
        replaced |= dict.fromkeys(gone.items())
        lower = members[tier]
    planned = set[str]().union(*members.values())
    earlier = before(planned, book)
    links = {job: jobs & planned for job, jobs in earlier.items()}
    free = unhindered(earlier, book)
    different = {frozenset(held) for held in members.values()}
    alike = {held: absorb(among(held, links), free, asked, book) for held in different}
    offers = {tier: alike[frozenset(held)] for tier, held in members.items()}
    because = _because(planned, asked, replaced, offers, assessment.findings, book)
    return Plan(
        jobs=_all_jobs(offers, links, book),
        quantities={job: asked[job].quantity if job in asked else 1 for job in planned},
        because=because,
        replaced={job: tuple(w for w, s in replaced if s == job) for _, job in replaced},
        offers=_more_than_looking(offers, because, book),
        forecast=frozenset(job for job in planned if planned & set(book.jobs[job].forecast_after)),
        held=held,
        own=_own(planned, asked, offers, assessment.findings),
    )


def _more_than_looking(
    offers: Mapping[Tier, OfferPlan], because: Mapping[str, Findings], book: Book
) -> dict[Tier, OfferPlan]:
    """An offer that only looks at what the shop would mend is not one that makes it playable."""
    lowest, usual = offers["playable"], offers["put_right"]
    looks = all(book.jobs[job].stage == 0 for job in lowest.jobs)
    mends = any(f.severity == "work" for job in usual.jobs if job not in lowest.jobs for f in because[job])
    return {**offers, "playable": usual} if lowest.jobs and looks and mends else dict(offers)


def close_offer(
    seeds: set[str], asked: Mapping[str, JobRequest], book: Book
) -> tuple[set[str], dict[str, str]]:
    """The closed offer, and weaker job → the stronger one that stands in its place.

    A replaced job stays out although something needs it: the stronger one does what it would have done.
    """
    gone: dict[str, str] = {}
    while True:
        members = _closed(seeds, gone, asked, book)
        found = _replacements(members, asked)
        if not found:
            return members, gone
        gone |= found
        seeds = (seeds - found.keys()) | set(found.values())


def _closed(
    seeds: set[str], gone: Mapping[str, str], asked: Mapping[str, JobRequest], book: Book
) -> set[str]:
    def needed(job: str) -> set[str]:
        return needs_of(job, asked, book) - gone.keys()

    return seeds.union(*(reach(job, needed) for job in seeds))


def _replacements(members: set[str], asked: Mapping[str, JobRequest]) -> dict[str, str]:
    """Weaker → stronger among the members. The job of the highest offer wins, then the first asked."""
    found: dict[str, str] = {}
    for job in sorted(asked, key=lambda job: -TIERS.index(asked[job].tier)):
        if job in members and job not in found:
            weaker = reach(job, lambda other: asked[other].instead_of if other in asked else ())
            mine = weaker & members - {job}
            found |= {other: job for other in sorted(mine) if other not in found}
    return found


def absorb(links: Links, free: frozenset[str], asked: Mapping[str, JobRequest], book: Book) -> OfferPlan:
    """Let the last jobs on the bench take in what they include, as long as the order stays possible."""
    order = in_order(links, book)
    owner = {job: job for job in order}
    for outer in reversed(order):
        if owner[outer] == outer:
            owner = _taken_in(outer, owner, order, links, asked, book)
    absorbed = {job: owner[job] for job in order if owner[job] != job}
    standing = contracted(links, owner)
    kept_free = free - {owner[job] for job in order if job not in free}
    jobs = in_order(standing, book)
    return OfferPlan(jobs, absorbed, _after(jobs, standing, kept_free, book))


def _after(
    jobs: tuple[str, ...], links: Links, free: frozenset[str], book: Book
) -> dict[str, tuple[str, ...]]:
    """Besides `after`, a job waits for all jobs of earlier stages, unless it is free to be done meanwhile."""
    stages = {job: book.jobs[job].stage for job in jobs}
    return {
        job: tuple(
            other
            for other in jobs[:place]
            if other in links[job] or (job not in free and stages[other] < stages[job])
        )
        for place, job in enumerate(jobs)
    }


def _taken_in(
    outer: str,
    owner: dict[str, str],
    order: tuple[str, ...],
    links: Links,
    asked: Mapping[str, JobRequest],
    book: Book,
) -> dict[str, str]:
    """Job → the job that includes it, with all that `outer` can include; repeated, since one inclusion may
    allow another."""
    inside = reach(outer, lambda job: book.jobs[job].includes)
    for inner in reversed(order):
        if inner in inside and inner != outer and owner[inner] == inner:
            merged = {job: outer if held == inner else held for job, held in owner.items()}
            if _same_place(asked.get(inner), asked.get(outer)) and possible(contracted(links, merged)):
                return _taken_in(outer, merged, order, links, asked, book)
    return owner


def _same_place(inner: JobRequest | None, outer: JobRequest | None) -> bool:
    """A job at one pin takes in nothing that is wanted at another pin."""
    if inner is None or outer is None or not inner.places or not outer.places:
        return True
    return inner.places <= outer.places


def _all_jobs(offers: Mapping[Tier, OfferPlan], links: Links, book: Book) -> tuple[str, ...]:
    """The fullest offer's order, and between it what stands alone only lower down."""
    fullest = offers[TIERS[-1]].jobs
    kept = among({job for offer in offers.values() for job in offer.jobs}, links)
    for job in fullest:
        kept[job] -= set(fullest)
    for job, following in pairwise(fullest):
        kept[following].add(job)
    return in_order(kept, book)


def _own(
    planned: Iterable[str],
    asked: Mapping[str, JobRequest],
    offers: Mapping[Tier, OfferPlan],
    findings: Findings,
) -> dict[str, Findings]:
    """The findings that ask for a job; for one done within another in what the shop would do, the other."""
    usual = offers["put_right"]
    own: dict[str, list[Finding]] = {job: [] for job in planned}
    asking: dict[int, list[str]] = {}
    for job in own.keys() & asked.keys():
        for finding in asked[job].findings:
            asking.setdefault(id(finding), []).append(job)
    for finding in findings:
        wanted = asking.get(id(finding), [])
        if not any(job in usual.jobs for job in wanted):
            wanted = [*wanted, *(usual.absorbed[job] for job in wanted if job in usual.absorbed)]
        for job in dict.fromkeys(wanted):
            own[job].append(finding)
    return {job: tuple(its) for job, its in own.items()}


def _because(
    planned: Iterable[str],
    asked: Mapping[str, JobRequest],
    replaced: Iterable[tuple[str, str]],
    offers: Mapping[Tier, OfferPlan],
    findings: Findings,
    book: Book,
) -> dict[str, Findings]:
    """The findings behind each job, in the order of the assessment."""
    reasons: dict[str, list[Finding]] = {
        job: list(asked[job].findings) if job in asked else [] for job in book.jobs
    }
    for weaker, stronger in replaced:
        reasons[stronger] += reasons[weaker]
    for needer in asked:
        for job in reach(needer, lambda other: book.jobs[other].needs):
            if job not in asked:
                reasons[job] += reasons[needer]
    for offer in offers.values():
        for inner, outer in offer.absorbed.items():
            reasons[outer] += reasons[inner]
    known = {job: {id(finding) for finding in reasons[job]} for job in planned}
    return {job: tuple(f for f in findings if id(f) in ids) for job, ids in known.items()}
