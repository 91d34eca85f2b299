"""From findings to asked jobs: what the remedies table wants, and what a stop takes out again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil
from typing import Any

from intake.book.model import TIERS, Book, Job, Tier
from intake.quoting.model import Finding

Findings = tuple[Finding, ...]


@dataclass(frozen=True)
class JobRequest:
    """One job as all findings together ask for it.

    `places` are the numbers of the pins it is for; empty if it is for the whole instrument.
    """

    job: str
    quantity: int
    tier: Tier
    findings: Findings
    instead_of: tuple[str, ...] = ()
    places: frozenset[int] = frozenset()


@dataclass
class _Merging:
    """Pins' quantities add up (the larger, where two findings at one pin ask), others count once.

    A job that is not counted, one without `per`, is done once however many pins ask for it.
    """

    tier: Tier
    findings: list[Finding] = field(default_factory=list)
    instead_of: dict[str, None] = field(default_factory=dict)
    whole: int = 0
    at_pins: dict[int, int] = field(default_factory=dict)
    everywhere: bool = False

    def ask(self, job: Job) -> JobRequest:
        places = frozenset() if self.everywhere else frozenset(self.at_pins)
        at_pins = sum(self.at_pins.values()) if job.per.get("en") else min(len(self.at_pins), 1)
        quantity = max(self.whole, at_pins)
        return JobRequest(job.id, quantity, self.tier, tuple(self.findings), tuple(self.instead_of), places)


def job_requests(findings: Sequence[Finding], facts: Mapping[str, Any], book: Book) -> dict[str, JobRequest]:
    """Every job that remedies.csv names for these findings, by id; the lowest offer named wins."""
    merging: dict[str, _Merging] = {}
    for finding in findings:
        if not book.remedies.hears_of(finding.id):
            continue
        item = {**(finding.item or {}), "finding": finding.id, "severity": finding.severity}
        for hit in book.remedies.evaluate(facts, item):
            job, tier = hit.outputs["job"], hit.outputs["tier"]
            merged = merging.setdefault(job, _Merging(tier))
            merged.tier = min(merged.tier, tier, key=TIERS.index)
            merged.findings.append(finding)
            merged.instead_of |= dict.fromkeys(str(hit.outputs.get("instead of", "")).split())
            _count(merged, finding, _quantity(hit.outputs.get("quantity"), facts, item))
    return {job: merged.ask(book.jobs[job]) for job, merged in merging.items()}


def _count(merged: _Merging, finding: Finding, quantity: int) -> None:
    number = (finding.item or {}).get("number")
    if number is None:
        merged.everywhere = True
        merged.whole = max(merged.whole, quantity)
    else:
        place = int(number)
        merged.at_pins[place] = max(merged.at_pins.get(place, 0), quantity)


def _quantity(written: Any, facts: Mapping[str, Any], item: Mapping[str, Any]) -> int:
    """A number, or the value of a fact or pin field; a list counts its members. At least one, whole."""
    value = item.get(written, facts.get(written)) if isinstance(written, str) else written
    if isinstance(value, (tuple, list, Mapping)):
        value = len(value)
    return max(1, ceil(value)) if isinstance(value, (int, Fraction)) else 1


def without_held(
    asked: Mapping[str, JobRequest], findings: Iterable[Finding], book: Book
) -> tuple[dict[str, JobRequest], tuple[str, ...]]:
    """The asks that may be quoted, and the ids of those that a finding holds back.

    A job is held if a finding names it, its group or `all`; and if something it needs is held. What a
    holding finding itself asks for is held only by name.
    """
    holds = [finding for finding in findings if finding.holds]
    own = {job for job, ask in asked.items() if any(finding.holds for finding in ask.findings)}
    named = {id for finding in holds for id in finding.holds}

    def held(job: str, seen: frozenset[str] = frozenset()) -> bool:
        wider = job not in own and ("all" in named or book.jobs[job].group in named)
        if job in named or wider:
            return True
        needed = needs_of(job, asked, book) - seen
        return any(held(other, seen | {job}) for other in needed)

    kept = {job: ask for job, ask in asked.items() if not held(job)}
    return kept, tuple(job for job in asked if job not in kept)


def needs_of(job: str, asked: Mapping[str, JobRequest], book: Book) -> set[str]:
    """What must stand in every offer that holds the job.

    Where a job that is needed if found is asked for in place of lesser ones, those serve: the dear way
    stands beside the cheaper one, and forces itself on no lower offer.
    """
    entry = book.jobs[job]
    needed = set(entry.needs)
    for other in entry.needs_if_found:
        if other in asked:
            lesser = [weaker for weaker in asked[other].instead_of if weaker in asked]
            needed |= set(lesser) or {other}
    return needed - {job}
