"""Three-point hours: means, sums with their spread, the 80 % figure, and work that several jobs share.

The mean is that of D. G. Malcolm, J. H. Roseboom, C. E. Clark, W. Fazar, Operations Research 7(5), 1959.
Their σ of (slow - quick) / 6 is narrower than the beta distribution with that mean, by 11 % for a
symmetric estimate; here the beta's own variance counts. Jobs on one instrument go slowly together: a bad
glue or a brittle finish is bad everywhere. `TOGETHER` is the correlation assumed between any two of them
(common practice, no source), and pieces of one job count as one. The sum is taken as normal; the tests
hold it to a simulation.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import isqrt
from statistics import NormalDist

from intake.book.model import Hours, Operation

TOGETHER = Fraction(1, 2)


def hours_together(facts: Mapping[str, object]) -> Fraction:
    """The correlation of two jobs that the book has in defaults.csv as `hours_together`, else ours."""
    own = facts.get("hours_together")
    return own if isinstance(own, Fraction) and 0 <= own <= 1 else TOGETHER


NOTHING = Hours(Fraction(0), Fraction(0), Fraction(0))
Z80, Z90 = (Fraction(NormalDist().inv_cdf(share)).limit_denominator(10**6) for share in (0.8, 0.9))
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
    mean: Fraction


def mean(hours: Hours) -> Fraction:
    """(quick + 4 usual + slow) / 6, in hours."""
    return (hours.quick + 4 * hours.usual + hours.slow) / 6


def variance(hours: Hours) -> Fraction:
    """(mean - quick)(slow - mean) / 7, in hours squared: that of the beta distribution with that mean."""
    width, up, down = hours.slow - hours.quick, hours.usual - hours.quick, hours.slow - hours.usual
    return (4 * up + width) * (4 * down + width) / 252


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


@dataclass(frozen=True)
class Total:
    """The distribution of a sum of hours: its ends, its mean and its standard deviation."""

    ends: Hours
    mean: Fraction
    sigma: Fraction

    def quantile(self, z: Fraction) -> Fraction:
        """mean + z·σ, never under all quick or over all slow, to the millionth of an hour."""
        hours = min(max(self.mean + z * self.sigma, self.ends.quick), self.ends.slow)
        return Fraction(round(hours * _FINE), _FINE)


def summed(several: Iterable[Hours], together: Fraction = TOGETHER) -> Total:
    """The sum of jobs that are correlated by `together` (0 to 1); σ is to the millionth of an hour."""
    kept = tuple(several)
    variances = [variance(hours) for hours in kept]
    alone, joint = sum(variances), sum(map(_root, variances)) ** 2
    ends = added(kept)
    return Total(ends, mean(ends), _root((1 - together) * alone + together * joint))


def _root(square: Fraction | int) -> Fraction:
    return Fraction(isqrt(int(square * _FINE**2)), _FINE)


def carried(works: Sequence[Work], operations: Mapping[str, Operation]) -> tuple[Carried, ...]:
    """How much of each operation is inside each job: its saving, but never more than the job holds."""
    found = []
    for work in works:
        rest = work.hours
        for operation in work.operations:
            smaller = _without(rest, operations[operation].saving)
            inside = less(rest, smaller)
            found.append(Carried(work.job, operation, inside, mean(inside)))
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
        held = keeper.setdefault(part.operation, part)
        if part.mean > held.mean:
            keeper[part.operation] = part
    return tuple(part for part in parts if part is not keeper[part.operation])


def net_hours(works: Sequence[Work], parts: Sequence[Carried]) -> dict[str, Hours]:
    """Job → its hours after what it shares with the others in `works`; `parts` are what they carry."""
    net = {work.job: work.hours for work in works}
    for saved in savings(parts):
        net[saved.job] = less(net[saved.job], saved.hours)
    return net
