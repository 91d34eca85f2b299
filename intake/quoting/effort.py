"""Three-point hours: means, sums with variance, the 80 % figure, and work that several jobs share.

Means and variances: D. G. Malcolm, J. H. Roseboom, C. E. Clark, W. Fazar, Operations Research 7(5), 1959.
Tasks count as independent, so that means add and variances add.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import isqrt
from statistics import NormalDist

from intake.book.model import Hours, Operation

NOTHING = Hours(Fraction(0), Fraction(0), Fraction(0))
Z80 = Fraction(NormalDist().inv_cdf(0.8)).limit_denominator(10**6)
_FINE = 10**6


@dataclass(frozen=True)
class Work:
    """A planned job's active hours, quantity and factors in them, and the operations it has."""

    job: str
    hours: Hours
    operations: tuple[str, ...]


@dataclass(frozen=True)
class Carried:
    """The hours of one operation inside one job."""

    job: str
    operation: str
    hours: Hours


def mean(hours: Hours) -> Fraction:
    """(quick + 4 usual + slow) / 6, in hours."""
    return (hours.quick + 4 * hours.usual + hours.slow) / 6


def variance(hours: Hours) -> Fraction:
    """((slow - quick) / 6)², in hours squared."""
    return ((hours.slow - hours.quick) / 6) ** 2


def added(several: Iterable[Hours]) -> Hours:
    """All quick hours, all usual hours, all slow hours."""
    kept = list(several)
    return Hours(
        sum((h.quick for h in kept), Fraction(0)),
        sum((h.usual for h in kept), Fraction(0)),
        sum((h.slow for h in kept), Fraction(0)),
    )


def scaled(hours: Hours, by: Fraction) -> Hours:
    return Hours(hours.quick * by, hours.usual * by, hours.slow * by)


def less(hours: Hours, other: Hours) -> Hours:
    return Hours(hours.quick - other.quick, hours.usual - other.usual, hours.slow - other.slow)


def p80(several: Iterable[Hours]) -> Fraction:
    """Hours that suffice in 80 of 100 cases: mean + z·σ of the sum, to the millionth of an hour."""
    kept = list(several)
    spread = sum(variance(hours) for hours in kept)
    sigma = Fraction(isqrt(int(spread * _FINE**2)), _FINE)
    return Fraction(round((sum(mean(hours) for hours in kept) + Z80 * sigma) * _FINE), _FINE)


def carried(works: Sequence[Work], operations: Mapping[str, Operation]) -> tuple[Carried, ...]:
    """How much of each operation is inside each job: its saving, but never more than the job holds."""
    found = []
    for work in works:
        rest = work.hours
        for operation in work.operations:
            smaller = _without(rest, operations[operation].saving)
            found.append(Carried(work.job, operation, less(rest, smaller)))
            rest = smaller
    return tuple(found)


def _without(hours: Hours, saving: Hours) -> Hours:
    """The hours less the saving, never under zero and still quick ≤ usual ≤ slow."""
    quick = max(hours.quick - saving.quick, Fraction(0))
    usual = max(hours.usual - saving.usual, quick)
    return Hours(quick, usual, max(hours.slow - saving.slow, usual))


def savings(parts: Sequence[Carried]) -> tuple[Carried, ...]:
    """What is not worked again: all of an operation but where it is largest (the first of equals).

    For jobs that hold the whole operation, the first keeps it and each further one saves it. Keeping
    the largest makes a further job add hours or nothing, never take some away.
    """
    keeper: dict[str, Carried] = {}
    for part in parts:
        held = keeper.get(part.operation)
        if held is None or mean(part.hours) > mean(held.hours):
            keeper[part.operation] = part
    return tuple(part for part in parts if part is not keeper[part.operation])


def net_hours(works: Sequence[Work], parts: Sequence[Carried]) -> dict[str, Hours]:
    """Job → its hours after what it shares with the others in `works`; `parts` are what they carry."""
    net = {work.job: work.hours for work in works}
    for saved in savings(parts):
        net[saved.job] = less(net[saved.job], saved.hours)
    return net
