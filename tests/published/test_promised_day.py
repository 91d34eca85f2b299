"""The promised day against a simulation: four tickets in five are ready by it.

Hours are drawn for every job of sample walk-ins from SciPy's beta distribution, joined by a normal copula
with the correlation that quoting assumes, and scheduled with the same waits and order.
"""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import numpy
import pytest
from scipy.stats import beta, norm

from intake.config import demo_book
from intake.quoting.assess import assess
from intake.quoting.calendar import Bench
from intake.quoting.effort import TOGETHER, net_hours
from intake.quoting.plan import make_plan
from intake.quoting.quote import cost_jobs, make_quote
from intake.quoting.schedule import Block, schedule
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

TODAY = date(2026, 11, 24)
DRAWS = 300
WALKINS = ("03-old-flat-top-neck-reset", "08-lifting-bridge", "05-worn-out-frets")


def draws(hours):
    """Hours of each job for each draw; jobs that share everything they hold take none."""
    width = float(hours.slow - hours.quick)
    if not width:
        return lambda _: float(hours.quick)
    up = 1 + 4 * float(hours.usual - hours.quick) / width
    return beta(up, 6 - up, loc=float(hours.quick), scale=width).ppf


@pytest.mark.parametrize("name", WALKINS)
def test_four_tickets_in_five_are_ready_by_the_promised_day(name):
    book, walkin = sample_book(), load_walkin(demo_book() / "walkins" / f"{name}.toml")
    quote = make_quote(book, walkin, TODAY)
    plan = make_plan(assess(book, walkin), book)
    costed = cost_jobs(plan, quote.assessment.facts, book)
    offer = plan.offers["put_right"]
    several = [costed[id] for id in offer.jobs]
    net = net_hours([one.work for one in several], [part for one in several for part in one.carried])
    random = numpy.random.default_rng(20261124)
    count = len(several)
    matrix = numpy.full((count, count), float(TOGETHER)) + float(1 - TOGETHER) * numpy.eye(count)
    shares = norm.cdf(random.multivariate_normal(numpy.zeros(count), matrix, size=DRAWS))
    drawn = [draws(net[one.job.id])(shares[:, at]) for at, one in enumerate(several)]
    bench, done = Bench(book.shop), []
    for draw in range(DRAWS):
        blocks = [
            Block(
                one.job.id,
                Fraction(float(numpy.broadcast_to(drawn[at], DRAWS)[draw])),
                one.wait,
                one.job.wait_kind,
                one.job.splits,
                offer.after[one.job.id],
            )
            for at, one in enumerate(several)
        ]
        done.append(last(schedule(blocks, bench, quote.answer_by).stretches))
    promised = quote.offers["put_right"]
    assert sum(moment.date() <= promised.ready for moment in done) / DRAWS >= 0.8
    assert 0.74 <= sum(moment <= last(promised.schedule) for moment in done) / DRAWS <= 0.9


def last(stretches):
    """The moment at which the last job is done; the customer's visit after settling is another day."""
    return max(
        stretch.end for stretch in stretches if stretch.kind == "work" and stretch.job != "settle-check"
    )
