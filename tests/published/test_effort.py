"""Three-point hours against printed examples, SciPy's beta distribution and a simulation."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

import numpy
import pytest
from scipy.stats import beta, norm

from intake.book.model import Hours
from intake.quoting.effort import TOGETHER, Z80, Z90, mean, summed, variance

# A textbook exercise of 14 activities in the notation of D. G. Malcolm, J. H. Roseboom, C. E. Clark and
# W. Fazar, Operations Research 7(5), 1959: optimistic, most likely, pessimistic days. The means of A, B, D
# and E are the printed ones; test_network.py has the same exercise with its slacks.
ACTIVITIES = {"A": (5, 5, 7), "B": (1, 2, 5), "D": (4, 8, 13), "E": (1, 10, 17)}
PRINTED_MEANS = {"A": 5.33, "B": 2.33, "D": 8.17, "E": 9.67}
BENCH = ((2, 3, 4.5), (1, 1.75, 2.75), (1.75, 2.5, 3.5), (1, 1.5, 2.25))
DRAWS = 60_000


def p80(several: list[Hours], together: Fraction = TOGETHER) -> Fraction:
    """Hours that suffice in 80 of 100 cases."""
    return summed(several, together).quantile(Z80)


def hours(three: tuple[float, float, float]) -> Hours:
    return Hours(*(Fraction(str(number)) for number in three))


def distribution(task: Hours):
    """The beta distribution between quick and slow whose mean is the three-point mean (α + β = 6)."""
    width = float(task.slow - task.quick)
    up = 1 + 4 * float(task.usual - task.quick) / width
    return beta(up, 6 - up, loc=float(task.quick), scale=width)


def simulated(tasks: list[Hours], together: float) -> numpy.ndarray:
    """Sums of many draws; the tasks are joined by a normal copula with that correlation."""
    random = numpy.random.default_rng(20261124)
    matrix = numpy.full((len(tasks), len(tasks)), together) + (1 - together) * numpy.eye(len(tasks))
    normal = random.multivariate_normal(numpy.zeros(len(tasks)), matrix, size=DRAWS)
    return sum(distribution(task).ppf(norm.cdf(normal[:, at])) for at, task in enumerate(tasks))


@pytest.mark.parametrize("activity", PRINTED_MEANS)
def test_means_of_the_textbook_exercise(activity):
    assert float(mean(hours(ACTIVITIES[activity]))) == pytest.approx(PRINTED_MEANS[activity], abs=0.005)


@pytest.mark.parametrize("three", [*ACTIVITIES.values(), *BENCH, (1, 1, 10), (1, 10, 10)])
def test_mean_and_variance_are_those_of_the_beta_distribution(three):
    task = hours(three)
    assert float(mean(task)) == pytest.approx(distribution(task).mean(), rel=1e-12)
    assert float(variance(task)) == pytest.approx(distribution(task).var(), rel=1e-12)


def test_a_path_of_mean_36_and_variance_25():
    """Notes on PERT: means 7, 14, 11, 4 and variances 4, 16, 4, 1 give 36 days with σ 5.

    Their variance is that of (slow - quick) / 6; a symmetric beta's is 9/7 of it, so ours is 225/7.
    """
    path = [hours((m - 3 * s, m, m + 3 * s)) for m, s in ((7, 2), (14, 4), (11, 2), (4, 1))]
    assert sum(map(mean, path)) == 36
    assert sum(map(variance, path)) == 25 * Fraction(9, 7)
    alone = Fraction(0)
    assert float(p80(path, alone)) == pytest.approx(norm(36, 5 * sqrt(9 / 7)).ppf(0.8), abs=1e-4)


@pytest.mark.parametrize(("together", "spread"), [(0, 0.7006), (1, None)])
def test_four_bench_tasks_alone_and_in_step(together, spread):
    """Mean 8.958 h. Independent, σ is 0.7006, the root of the summed beta variances; in step σ adds up."""
    tasks = [hours(three) for three in BENCH]
    expected = spread or sum(distribution(task).std() for task in tasks)
    assert round(float(sum(map(mean, tasks))), 3) == 8.958
    assert float(summed(tasks, Fraction(together)).sigma) == pytest.approx(expected, abs=5e-5)


CASES = {
    "four bench tasks": BENCH,
    "one task": ((1, 1.5, 2.25),),
    "one task that may go wrong": ((1, 1.2, 4),),
    "a reset and what follows": ((7.5, 10.5, 16.5), (0.9, 1.3, 2), (2, 3, 4), (1, 1.5, 2.25), (0.75, 1.1, 2)),
    "many small ones": ((0.3, 0.5, 0.9),) * 8,
}


@pytest.mark.parametrize("together", [Fraction(0), TOGETHER])
@pytest.mark.parametrize("tasks", CASES.values(), ids=CASES)
def test_the_normal_sum_holds_against_a_simulation(tasks, together):
    """Within 2 % of the simulated 80 % figure (a right-skewed task alone comes out a little high)."""
    several = [hours(three) for three in tasks]
    sums = simulated(several, float(together))
    assert float(summed(several, together).sigma) == pytest.approx(sums.std(), rel=0.02)
    assert float(p80(several, together)) == pytest.approx(numpy.quantile(sums, 0.8), rel=0.02)
    assert 0.78 <= (sums <= float(p80(several, together))).mean() <= 0.84


def test_eight_of_ten_tickets_lie_between_low_and_high():
    several = [hours(three) for three in BENCH]
    sums = simulated(several, float(TOGETHER))
    total = summed(several)
    low, high = float(total.quantile(-Z90)), float(total.quantile(Z90))
    assert ((low <= sums) & (sums <= high)).mean() == pytest.approx(0.8, abs=0.02)
    assert low < float(total.quantile(Z80)) < high
