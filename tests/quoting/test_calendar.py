"""Days from hours: open hours and the productive share for the bench, the wall clock for waits."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from intake.quoting.calendar import Bench, Block, NeverOpen, closed_days, schedule

DAY = timedelta(hours=24)


def block(job, stage, hours, wait=timedelta(), **given):
    return Block(job, stage, Fraction(str(hours)), wait, **given)


BRIDGE = [
    block("inspect", 0, "1.10"),
    block("plate", 3, "1.55", DAY),
    block("bridge", 4, "3.40", DAY),
    block("setup", 11, "1.20"),
]


def worked(stretches, job):
    return [
        (stretch.start, stretch.end) for stretch in stretches if (stretch.job, stretch.kind) == (job, "work")
    ]


@pytest.mark.parametrize(
    ("start", "plate_ends", "bridge", "setup"),
    [
        (date(2026, 11, 24), (24, 13, 32), ((25, 13, 32), (26, 10, 4)), ((27, 10, 4), (27, 11, 40))),
        (date(2026, 11, 26), (26, 13, 32), ((27, 13, 32), (28, 10, 4)), ((31, 10, 0), (31, 11, 36))),
    ],
)
def test_a_bridge_with_two_cures(make, start, plate_ends, bridge, setup):
    """Worked by hand: Tue-Fri 10-18, Sat 10-16, three quarters productive; the weekend swallows a cure.

    Days count from 1 November, so that day 31 is 1 December.
    """

    def at(day, hour, minute):
        return datetime(2026, 11, 1) + timedelta(days=day - 1, hours=hour, minutes=minute)

    setup = tuple(at(*moment) for moment in setup)
    stretches, ready = schedule(BRIDGE, make.shop(), start)
    assert worked(stretches, "plate")[-1][1] == at(*plate_ends)
    spans = worked(stretches, "bridge")
    assert (spans[0][0], spans[-1][1]) == tuple(at(*moment) for moment in bridge)
    assert worked(stretches, "setup") == [setup]
    assert ready == setup[1].date()


def test_a_block_that_must_not_be_split_moves_whole(make):
    blocks = [*BRIDGE[:2], block("bridge", 4, "3.40", DAY, splits=False)]
    stretches, _ = schedule(blocks, make.shop(), date(2026, 11, 24))
    assert worked(stretches, "bridge") == [(datetime(2026, 11, 26, 10), datetime(2026, 11, 26, 14, 32))]


def test_a_block_longer_than_any_day_starts_in_the_morning_and_is_split_after_all(make):
    blocks = [block("look", 0, 1), block("refinish", 6, 9, splits=False)]
    stretches, _ = schedule(blocks, make.shop(), date(2026, 11, 24))
    assert [start for start, _ in worked(stretches, "refinish")] == [
        datetime(2026, 11, 25, 10),
        datetime(2026, 11, 26, 10),
    ]


def test_waits_of_one_stage_overlap_and_those_of_the_next_add(make):
    glue = [block("brace", 3, "0.75", DAY), block("crack", 3, "0.75", 2 * DAY)]
    _, together = schedule(glue, make.shop(), date(2026, 11, 24))
    _, one_after_the_other = schedule(
        [glue[0], block("crack", 4, "0.75", 2 * DAY)], make.shop(), date(2026, 11, 24)
    )
    assert (together, one_after_the_other) == (date(2026, 11, 26), date(2026, 11, 27))


def test_holidays_and_closed_days_are_no_bench_days(make):
    christmas = [block("setup", 11, 1)]
    assert schedule(christmas, make.shop(), date(2026, 12, 25))[1] == date(2026, 12, 25)
    assert schedule(christmas, make.shop(region="US-NY"), date(2026, 12, 25))[1] == date(2026, 12, 26)
    closed = make.shop(region="US", closed=("2026-12-26/2026-12-30", "2026-12-31"))
    assert schedule(christmas, closed, date(2026, 12, 25))[1] == date(2027, 1, 2)


def test_what_is_done_while_the_shop_is_closed_is_ready_on_the_next_open_day(make):
    glued = [block("brace", 3, 1, DAY)]
    assert schedule(glued, make.shop(), date(2026, 11, 28))[1] == date(2026, 12, 1)


def test_work_already_booked_comes_first(make):
    empty = schedule([block("setup", 11, 1)], make.shop(), date(2026, 11, 24))[1]
    busy = schedule([block("setup", 11, 1)], make.shop(), date(2026, 11, 24), Fraction(12))[1]
    assert (empty, busy) == (date(2026, 11, 24), date(2026, 11, 26))


def test_the_customer_has_the_instrument_while_it_settles(make):
    blocks = [block("setup", 11, 1), block("check", 12, "0.5", timedelta(days=14), wait_kind="settle")]
    stretches, ready = schedule(blocks, make.shop(), date(2026, 11, 24))
    assert ready == date(2026, 11, 24)
    assert worked(stretches, "check")[0][0].date() == date(2026, 12, 8)


def test_lunch_is_not_worked(make):
    shop = make.shop(
        open_hours={1: ((time(9), time(12)), (time(13), time(17)))}, productive_share=Fraction(1)
    )
    stretches, _ = schedule([block("setup", 11, 4)], shop, date(2026, 11, 24))
    assert worked(stretches, "setup") == [
        (datetime(2026, 11, 24, 9), datetime(2026, 11, 24, 12)),
        (datetime(2026, 11, 24, 13), datetime(2026, 11, 24, 14)),
    ]


def test_a_shop_that_never_opens_is_refused(make):
    with pytest.raises(NeverOpen, match="hours"):
        schedule([block("setup", 11, 1)], make.shop(open_hours={}), date(2026, 11, 24))


def test_closed_days_are_written_singly_or_as_spans():
    assert closed_days(("2026-12-24", "2026-12-30/2027-01-01")) == {
        date(2026, 12, 24), date(2026, 12, 30), date(2026, 12, 31), date(2027, 1, 1),
    }  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 4), st.integers(0, 60), st.integers(0, 60), st.booleans()),
        min_size=1,
        max_size=6,
    ),
    st.integers(0, 30),
)
def test_bench_work_is_in_open_hours_never_doubled_and_all_of_it(make, drawn, offset):
    shop = make.shop(region="US", productive_share=Fraction(1, 2))
    blocks = [
        Block(str(number), stage, Fraction(tenths, 10), timedelta(hours=wait), "glue", splits)
        for number, (stage, tenths, wait, splits) in enumerate(sorted(drawn))
    ]
    stretches, ready = schedule(blocks, shop, date(2026, 12, 1) + timedelta(days=offset))
    bench = Bench(shop)
    work = [stretch for stretch in stretches if stretch.kind == "work"]
    for stretch in work:
        assert any(
            opens <= stretch.start < stretch.end <= closes
            for opens, closes in bench.spans(stretch.start.date())
        )
    assert all(one.end <= other.start for one, other in pairwise(work))
    for each in blocks:
        total = sum((end - start for start, end in worked(stretches, each.job)), timedelta())
        assert abs(total - timedelta(hours=float(each.hours * 2))) <= timedelta(seconds=1)
    for earlier in stretches:
        for later in work:
            if int(blocks[int(earlier.job)].stage) < blocks[int(later.job)].stage:
                assert earlier.end <= later.start
    assert bench.spans(ready)
    assert ready >= max((stretch.end.date() for stretch in stretches), default=ready)
