"""Days from hours: open hours and the productive share for the bench, the wall clock for waits."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from intake.quoting.calendar import Bench, NeverOpenError, Slots, closed_days
from intake.quoting.model import Booking
from intake.quoting.schedule import Block, booked_by
from intake.quoting.schedule import schedule as scheduled

DAY = timedelta(hours=24)


def block(job, hours, wait=timedelta(), *after, **given):
    return Block(job, Fraction(str(hours)), wait, after=after, **given)


def schedule(blocks, shop, start, *booked):
    return scheduled(blocks, Bench(shop, start, booked), start)


BRIDGE = [
    block("inspect", "1.10"),
    block("plate", "1.55", DAY, "inspect"),
    block("bridge", "3.40", DAY, "plate"),
    block("setup", "1.20", timedelta(), "bridge"),
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
    days = schedule(BRIDGE, make.shop(), start)
    stretches = days.stretches
    assert worked(stretches, "plate")[-1][1] == at(*plate_ends)
    spans = worked(stretches, "bridge")
    assert (spans[0][0], spans[-1][1]) == tuple(at(*moment) for moment in bridge)
    assert worked(stretches, "setup") == [setup]
    assert days.ready == setup[1].date()


def test_a_block_that_must_not_be_split_moves_whole(make):
    blocks = [*BRIDGE[:2], block("bridge", "3.40", DAY, "plate", splits=False)]
    stretches = schedule(blocks, make.shop(), date(2026, 11, 24)).stretches
    assert worked(stretches, "bridge") == [(datetime(2026, 11, 26, 10), datetime(2026, 11, 26, 14, 32))]


def test_a_block_longer_than_any_day_starts_in_the_morning_and_is_split_after_all(make):
    blocks = [block("look", 1), block("refinish", 9, splits=False)]
    stretches = schedule(blocks, make.shop(), date(2026, 11, 24)).stretches
    assert [start for start, _ in worked(stretches, "refinish")] == [
        datetime(2026, 11, 25, 10),
        datetime(2026, 11, 26, 10),
    ]


def test_waits_of_jobs_that_do_not_hang_on_each_other_overlap(make):
    brace, crack = block("brace", "0.75", DAY), block("crack", "0.75", 2 * DAY)
    together = schedule([brace, crack], make.shop(), date(2026, 11, 24)).ready
    crack_later = block("crack", "0.75", 2 * DAY, "brace")
    one_after_the_other = schedule([brace, crack_later], make.shop(), date(2026, 11, 24)).ready
    assert (together, one_after_the_other) == (date(2026, 11, 26), date(2026, 11, 27))


def test_holidays_and_closed_days_are_no_bench_days(make):
    christmas = [block("setup", 1)]
    assert schedule(christmas, make.shop(), date(2026, 12, 25)).ready == date(2026, 12, 25)
    assert schedule(christmas, make.shop(region="US-NY"), date(2026, 12, 25)).ready == date(2026, 12, 26)
    closed = make.shop(region="US", closed=("2026-12-26/2026-12-30", "2026-12-31"))
    assert schedule(christmas, closed, date(2026, 12, 25)).ready == date(2027, 1, 2)


def test_a_regions_own_holiday_counts_there_only(make):
    """Patriots' Day is kept in Massachusetts, on Monday 19 April 2027 (M.G.L. c. 4 s. 7; from memory)."""
    monday = {0: ((time(10), time(18)),), 1: ((time(10), time(18)),)}
    ready = {
        region: schedule([block("setup", 1)], make.shop(region=region, open_hours=monday), date(2027, 4, 19))
        for region in ("US-MA", "US-NY")
    }
    assert ready["US-MA"].ready == date(2027, 4, 20) and ready["US-NY"].ready == date(2027, 4, 19)


def test_what_is_done_while_the_shop_is_closed_is_ready_on_the_next_open_day(make):
    glued = [block("brace", 1, DAY)]
    assert schedule(glued, make.shop(), date(2026, 11, 28)).ready == date(2026, 12, 1)


def test_work_already_booked_comes_first(make):
    setup = [block("setup", 1)]
    empty = schedule(setup, make.shop(), date(2026, 11, 24)).ready
    busy = schedule(setup, make.shop(), date(2026, 11, 24), Booking(Fraction(12))).ready
    assert (empty, busy) == (date(2026, 11, 24), date(2026, 11, 26))


def test_a_booking_takes_its_own_day_and_leaves_the_others(make):
    """6 bench hours fill the Wednesday; the 8 hours of ours go round it: Tuesday 6, Thursday 2."""
    booked = Booking(Fraction(6), date(2026, 11, 25))
    stretches = schedule([block("refret", 8)], make.shop(), date(2026, 11, 24), booked).stretches
    assert [start.day for start, _ in worked(stretches, "refret")] == [24, 26]


def test_bookings_before_the_start_are_worked_off_before_it(make):
    done = Booking(Fraction(6), date(2026, 11, 24))
    assert schedule([block("setup", 1)], make.shop(), date(2026, 11, 25), done).ready == date(2026, 11, 25)
    half = Booking(Fraction(9), date(2026, 11, 24))
    ((start, _),) = worked(schedule([block("a", 1)], make.shop(), date(2026, 11, 25), half).stretches, "a")
    assert start == datetime(2026, 11, 25, 14)


def test_bookings_beyond_ten_years_are_refused(make):
    with pytest.raises(NeverOpenError):
        schedule([block("setup", 1)], make.shop(), date(2026, 11, 24), Booking(Fraction(10**6)))


def test_the_bench_does_another_job_of_the_ticket_while_glue_cures(make):
    blocks = [block("brace", 2, DAY), block("setup", 1, timedelta(), "brace"), block("tuners", 1)]
    stretches = schedule(blocks, make.shop(), date(2026, 11, 24)).stretches
    assert worked(stretches, "tuners")[0][0] == worked(stretches, "brace")[0][1]


def test_an_accepted_offer_is_booked_on_the_days_it_was_planned_for(make):
    jobs = [
        make.job("brace", 3, wait=DAY, hours=make.hours(6)),
        make.job("setup", 11, hours=make.hours(3), after=("brace",)),
    ]
    book = make.book(jobs, [("f", job.id, "playable") for job in jobs])
    offer = make.quote(book, "f").offers["playable"]
    assert booked_by(offer, Bench(book.shop)) == (
        Booking(Fraction(6), date(2026, 12, 1)),
        Booking(Fraction(3), date(2026, 12, 3)),
    )


@pytest.mark.parametrize(
    ("wait", "ready", "check"),
    [
        (14, date(2026, 11, 24), date(2026, 12, 8)),
        (7, date(2026, 11, 24), date(2026, 12, 1)),
        (6, date(2026, 12, 1), date(2026, 11, 24)),
    ],
)
def test_the_customer_has_the_instrument_while_it_settles_a_week_or_more(make, wait, ready, check):
    blocks = [block("setup", 1), block("check", "0.5", timedelta(days=wait), "setup", wait_kind="settle")]

    days = schedule(blocks, make.shop(), date(2026, 11, 24))

    assert days.ready == ready
    assert worked(days.stretches, "check")[0][0].date() == check


def test_a_visit_that_is_not_to_be_divided_waits_for_a_day_long_enough(make):
    """From the half hour left of the day on which the wait ends to the next day."""
    shop = make.shop(productive_share=Fraction(1))
    blocks = [block("setup", "7.5"), block("check", 2, timedelta(days=7), wait_kind="settle", splits=False)]

    visit = worked(schedule(blocks, shop, date(2026, 11, 24)).stretches, "check")

    assert visit == [(datetime(2026, 12, 2, 10), datetime(2026, 12, 2, 12))]


def test_lunch_is_not_worked(make):
    shop = make.shop(
        open_hours={1: ((time(9), time(12)), (time(13), time(17)))}, productive_share=Fraction(1)
    )
    stretches = schedule([block("setup", 4)], shop, date(2026, 11, 24)).stretches
    assert worked(stretches, "setup") == [
        (datetime(2026, 11, 24, 9), datetime(2026, 11, 24, 12)),
        (datetime(2026, 11, 24, 13), datetime(2026, 11, 24, 14)),
    ]


def test_a_shop_that_never_opens_is_refused(make):
    with pytest.raises(NeverOpenError, match="hours"):
        schedule([block("setup", 1)], make.shop(open_hours={}), date(2026, 11, 24))


def test_closed_days_are_written_singly_or_as_spans():
    assert closed_days(("2026-12-24", "2026-12-30/2027-01-01")) == {
        date(2026, 12, 24), date(2026, 12, 30), date(2026, 12, 31), date(2027, 1, 1),
    }  # fmt: skip


@st.composite
def tickets(draw):
    """Blocks in an order that their `after` allows, and bookings."""
    blocks = []
    for number in range(draw(st.integers(1, 6))):
        blocks.append(
            Block(
                str(number),
                Fraction(draw(st.integers(0, 60)), 10),
                timedelta(hours=draw(st.sampled_from([0, 0, 1, 24, 60]))),
                "glue",
                draw(st.booleans()),
                tuple(str(other) for other in range(number) if draw(st.booleans())),
            )
        )
    days = st.one_of(st.none(), st.dates(date(2026, 11, 20), date(2027, 1, 10)))
    booked = draw(st.lists(st.builds(Booking, st.integers(0, 20).map(Fraction), days), max_size=4))
    return blocks, booked


START = st.dates(date(2026, 12, 1), date(2026, 12, 31))


@given(tickets(), START)
def test_bench_work_is_in_open_hours_never_doubled_in_order_and_all_of_it(make, drawn, start):
    blocks, booked = drawn
    shop = make.shop(region="US", productive_share=Fraction(1, 2))
    bench = Bench(shop, start, booked)
    days = scheduled(blocks, bench, start)
    work = [stretch for stretch in days.stretches if stretch.kind == "work"]
    for stretch in work:
        assert any(
            opens <= stretch.start < stretch.end <= closes
            for opens, closes in bench.free(stretch.start.date())
        )
    assert all(one.end <= other.start for one, other in pairwise(work))
    finish = {}
    for each in blocks:
        spans = worked(days.stretches, each.job)
        total = sum((end - begin for begin, end in spans), timedelta())
        assert abs(total - timedelta(hours=float(each.hours * 2))) <= timedelta(seconds=1)
        if spans:
            assert all(finish[other] <= spans[0][0] for other in each.after if other in finish)
            finish[each.job] = spans[-1][1] + each.wait
        if not each.splits and each.hours * 2 <= 8:
            assert len(spans) <= 1
    assert bench.spans(days.ready)
    assert days.ready >= max((end.date() for end in finish.values()), default=days.ready)


@given(tickets(), START, st.data())
def test_a_job_may_start_by_its_slack_later_and_all_is_done_as_promised(make, drawn, start, data):
    """A wait that ends when the slack is used up is put before one job; the plan is made again.

    Slack holds while the bench keeps its order; a plan made anew may change it, and then promises nothing.
    """
    blocks, booked = drawn
    blocks = [replace(each, splits=True) for each in blocks]
    bench = Bench(make.shop(productive_share=Fraction(1)), start, booked)
    days = scheduled(blocks, bench, start)
    assert days.slack.keys() == {each.job for each in blocks}
    assert all(hours >= 0 for hours in days.slack.values())
    assert days.critical and days.critical[-1] in days.slack
    held = data.draw(st.sampled_from([each for each in blocks if worked(days.stretches, each.job)] or [None]))
    if held:
        begin = worked(days.stretches, held.job)[0][0]
        latest = Slots(bench).work(begin, bench.length(days.slack[held.job]))[-1][1]
        hold = Block("hold", Fraction(0), latest - bench.first_free(start), "glue")
        again = [replace(each, after=(*each.after, "hold")) if each == held else each for each in blocks]
        anew = scheduled([hold, *again], bench, start)
        assume(bench_order(anew) == bench_order(days))
        assert ends(anew) <= ends(days)


def bench_order(days):
    """Which job is on the bench after which."""
    return [stretch.job for stretch in days.stretches if stretch.kind == "work"]


def ends(days):
    """When the last job is done and cured."""
    return max(stretch.end for stretch in days.stretches if stretch.job != "hold")


def test_slack_is_the_open_time_until_it_must_begin(make):
    """Tue 24 Nov: look 10-11, brace 11-12 and a day's cure, tuners 12-13, setup Wed 12-13.

    Tuners may start until Wed 11, an hour before the setup: 6 h of Tuesday after noon and 1 of Wednesday.
    """
    shop = make.shop(productive_share=Fraction(1))
    blocks = [
        block("look", 1),
        block("brace", 1, DAY, "look"),
        block("setup", 1, timedelta(), "brace", "tuners"),
        block("tuners", 1),
    ]
    blocks = [blocks[0], blocks[1], blocks[3], blocks[2]]
    days = schedule(blocks, shop, date(2026, 11, 24))
    assert days.critical == ("look", "brace", "setup")
    assert days.slack == {"look": 0, "brace": 0, "tuners": 7, "setup": 0}


def test_a_cure_that_ends_on_a_closed_day_leaves_slack_before_it(make):
    """Sat 28 Nov 10-11, cured Sunday 11; the setup waits for Tuesday: the glue may start until Sat 15."""
    shop = make.shop(productive_share=Fraction(1))
    days = schedule(
        [block("brace", 1, DAY), block("setup", 1, timedelta(), "brace")], shop, date(2026, 11, 28)
    )
    assert days.critical == ("brace", "setup")
    assert days.slack == {"brace": 5, "setup": 0}
