"""Three-point hours against printed examples and against another implementation."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

import pytest
from scipy.stats import norm

from intake.book.model import Hours
from intake.quoting.effort import mean, p80, variance

# A textbook exercise of 14 activities in the notation of D. G. Malcolm, J. H. Roseboom, C. E. Clark and
# W. Fazar, Operations Research 7(5), 1959: optimistic, most likely, pessimistic days. The means of A, B, D
# and E, and which activities have no slack, are the printed ones.
ACTIVITIES = {
    "A": (5, 5, 7), "B": (1, 2, 5), "C": (5, 5, 5), "D": (4, 8, 13), "E": (1, 10, 17), "F": (1, 5, 7),
    "G": (2, 6, 9), "H": (4, 4, 6), "I": (2, 7, 10), "J": (2, 4, 7), "K": (6, 10, 13), "L": (2, 6, 6),
    "M": (2, 2, 3), "N": (7, 7, 12),
}  # fmt: skip
PRINTED_MEANS = {"A": 5.33, "B": 2.33, "D": 8.17, "E": 9.67}
CRITICAL = "ACEHIKMN"


def hours(three: tuple[float, float, float]) -> Hours:
    return Hours(*(Fraction(str(number)) for number in three))


@pytest.mark.parametrize("activity", PRINTED_MEANS)
def test_means_of_the_textbook_exercise(activity):
    assert float(mean(hours(ACTIVITIES[activity]))) == pytest.approx(PRINTED_MEANS[activity], abs=0.005)


def test_the_critical_path_of_the_textbook_exercise():
    """Length and variance follow from the printed table (computed from it, their print was cut off)."""
    path = [hours(ACTIVITIES[activity]) for activity in CRITICAL]
    assert float(sum(map(mean, path))) == pytest.approx(50.83, abs=0.005)
    assert float(sum(map(variance, path))) == pytest.approx(11.194, abs=0.0005)


def test_a_path_of_mean_36_and_variance_25():
    """Notes on PERT: means 7, 14, 11, 4 and variances 4, 16, 4, 1 give 36 days with σ 5, 41 being Z = 1."""
    path = [hours((m - 3 * s, m, m + 3 * s)) for m, s in ((7, 2), (14, 4), (11, 2), (4, 1))]
    assert sum(map(mean, path)) == 36
    assert sum(map(variance, path)) == 25
    assert float(p80(path)) == pytest.approx(norm(36, 5).ppf(0.8), abs=1e-4)


def test_four_bench_tasks():
    """Independent tasks; against scipy's normal distribution, and the figures 8.958, 0.622 and 9.48 h."""
    tasks = [hours(t) for t in ((2, 3, 4.5), (1, 1.75, 2.75), (1.75, 2.5, 3.5), (1, 1.5, 2.25))]
    total, spread = float(sum(map(mean, tasks))), sqrt(sum(map(variance, tasks)))
    assert (round(total, 3), round(spread, 3)) == (8.958, 0.622)
    assert float(p80(tasks)) == pytest.approx(norm(total, spread).ppf(0.8), abs=1e-5)
    assert round(float(p80(tasks)), 2) == 9.48
