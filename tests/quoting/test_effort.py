"""Work that several jobs share is worked once."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from intake.book.model import Hours, Operation
from intake.book.text import Text
from intake.quoting.effort import Z80, Work, added, carried, mean, net_hours, scaled, summed

QUARTERS = st.integers(0, 40).map(lambda number: Fraction(number, 8))


def p80(several: list[Hours]) -> Fraction:
    """Hours that suffice in 80 of 100 cases."""
    return summed(several).quantile(Z80)


@st.composite
def three_points(draw):
    return Hours(*sorted(draw(st.tuples(QUARTERS, QUARTERS, QUARTERS))))


def net(works, operations):
    return net_hours(works, carried(works, operations))


def test_the_first_job_keeps_the_operation_and_each_further_one_saves_it(make):
    operations = {"strings": make.operation("strings", 0.2, 0.3, 0.45)}
    works = [Work(id, make.hours(1, 2, 3), ("strings",)) for id in ("first", "second", "third")]
    result = net(works, operations)
    assert result["first"] == make.hours(1, 2, 3)
    assert result["second"] == result["third"] == make.hours(0.8, 1.7, 2.55)


def test_a_job_alone_saves_nothing(make):
    operations = {"strings": make.operation("strings", 1)}
    assert net([Work("a", make.hours(2), ("strings",))], operations) == {"a": make.hours(2)}


def test_a_small_job_saves_no_more_than_it_holds(make):
    operations = {"strings": make.operation("strings", 1), "setup": make.operation("setup", 2)}
    works = [
        Work("big", make.hours(9), ("strings", "setup")),
        Work("small", make.hours(0.5), ("strings", "setup")),
    ]
    assert net(works, operations) == {"big": make.hours(9), "small": make.hours(0)}


@st.composite
def shops(draw):
    operations = draw(st.dictionaries(st.sampled_from("STUX"), three_points(), min_size=1, max_size=3))
    works = [
        Work(str(number), draw(three_points()), tuple(draw(st.sets(st.sampled_from(sorted(operations))))))
        for number in range(draw(st.integers(1, 5)))
    ]
    return works, operations


@given(shops())
def test_hours_stay_in_order_and_a_further_job_never_takes_hours_away(make, drawn):
    works, savings = drawn
    operations = {id: Operation(id, Text(en=id), saving) for id, saving in savings.items()}
    for hours in net(works, operations).values():
        assert 0 <= hours.quick <= hours.usual <= hours.slow
    fewer, more = net(works[:-1], operations), net(works, operations)
    assert sum(map(mean, fewer.values())) <= sum(map(mean, more.values()))


@given(st.lists(three_points(), min_size=1, max_size=6), st.integers(2, 5))
def test_the_80_percent_figure_lies_between_mean_and_slowest(several, times):
    total = added(several)
    tiny = Fraction(1, 10**5)
    assert mean(total) - tiny <= p80(several) <= total.slow + tiny
    assert (
        abs(p80([scaled(hours, Fraction(times)) for hours in several]) - times * p80(several)) < tiny * times
    )
