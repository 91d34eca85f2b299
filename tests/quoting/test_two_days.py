"""Each offer has two ready days: with a yes on the day shown, and with a yes by the last day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from fractions import Fraction
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.book.model import Book
from intake.config import demo_book
from intake.quoting.model import Booking, Quote
from intake.quoting.quote import gone_by, make_quote
from intake.quoting.selection import Menu
from intake.quoting.to_json import quote_json
from intake.quoting.to_text import quote_text
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

TODAY = date(2026, 11, 28)
"""A Saturday: the demo shop is open from 10 to 16, and then from Tuesday."""
WALKINS = sorted((demo_book() / "walkins").glob("*.toml"))


@cache
def book() -> Book:
    return sample_book()


def quoted(number: str, *booked: Booking, today: date = TODAY) -> Quote:
    (path,) = (demo_book() / "walkins").glob(f"{number}-*.toml")
    return make_quote(book(), load_walkin(path), today, booked=booked)


def test_a_short_job_on_an_empty_bench_is_ready_on_the_day_of_the_yes() -> None:
    usual = quoted("01").offers["put_right"]

    assert usual.ready_today == TODAY
    assert usual.ready == date(2026, 12, 5)


def test_work_for_others_moves_both_days() -> None:
    """33 bench hours fill the shop's week from Saturday to the next Saturday."""
    usual = quoted("01", Booking(Fraction(33), TODAY)).offers["put_right"]

    assert usual.ready_today == usual.ready == date(2026, 12, 8)


def test_json_has_both_days_in_each_offer() -> None:
    offers = quote_json(quoted("03"))["offers"]

    for offer in offers.values():
        assert date.fromisoformat(offer["ready_today"]) < date.fromisoformat(offer["ready"])


def test_the_text_says_the_first_day_first() -> None:
    text = quote_text(quoted("01"), book())

    first = text.index("ready 28 November 2026 with a go-ahead at once")
    assert first < text.index("5 December 2026 with a go-ahead by 5 December 2026")


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        ("2026-12-05", "With a go-ahead by December 5, 2026, Put right can be ready by December 5, 2026."),
        ("2026-12-04", "With a go-ahead on November 28, 2026, Put right can be ready by December 4, 2026; "
                       "with one on December 5, 2026 it is ready on December 5, 2026."),
        ("2026-11-27", "Put right cannot be ready by November 27, 2026; with a go-ahead on November 28, 2026 "
                       "it is ready on November 28, 2026."),
    ],
)  # fmt: skip
def test_needed_by_is_judged_by_the_first_day(wanted: str, words: str) -> None:
    walkin = load_walkin(demo_book() / "walkins/02-high-action-saddle-can-give.toml")
    dated = replace(walkin, answers={**walkin.answers, "wanted_by": wanted})

    notes = make_quote(book(), dated, TODAY).notes

    assert words in [note["en"] for note in notes]


@pytest.mark.parametrize(
    ("moment", "hours"),
    [
        (datetime(2026, 11, 28, 9, 59), 0),
        (datetime(2026, 11, 28, 10, 1), Fraction(3, 16)),
        (datetime(2026, 11, 28, 13, 0), Fraction(9, 4)),
        (datetime(2026, 11, 28, 15, 59), Fraction(9, 2)),
        (datetime(2026, 11, 28, 23, 59), Fraction(9, 2)),
        (datetime(2026, 11, 29, 12, 0), 0),
    ],
)
def test_the_part_of_the_day_that_has_gone_by_is_no_longer_free(
    moment: datetime, hours: Fraction | int
) -> None:
    """Three quarters of an open hour are bench time, to the next quarter of an hour."""
    booked = gone_by(book(), moment)

    assert sum(one.hours for one in booked) == hours
    assert all(one.not_before == moment.date() for one in booked)


def test_shortly_before_closing_a_yes_counts_from_the_next_opening() -> None:
    late = gone_by(book(), datetime(2026, 11, 28, 15, 50))

    assert quoted("01", *late).offers["put_right"].ready_today == date(2026, 12, 1)


def test_a_yes_is_planned_from_its_own_day() -> None:
    quote = quoted("03")
    jobs = quote.offers["put_right"].jobs
    wednesday = date(2026, 12, 2)

    planned = Menu(quote, book(), wednesday).planned_now(jobs)

    assert min(one.start for one in planned.schedule).date() == wednesday
    assert quote.offers["put_right"].first_day < planned.ready < quote.offers["put_right"].ready


def test_an_emptier_bench_brings_both_days_forward() -> None:
    quote = quoted("03", Booking(Fraction(60), TODAY))
    full = quote.offers["put_right"]

    empty = Menu(quote, book(), TODAY).select(full.jobs).offer

    assert empty.first_day < full.first_day and empty.ready < full.ready
    assert empty.total == full.total


def test_a_quote_of_an_earlier_version_gets_its_first_day_when_it_is_looked_at() -> None:
    quote = quoted("01")
    old = {tier: replace(offer, ready_today=None) for tier, offer in quote.offers.items()}

    offer = Menu(replace(quote, offers=old), book(), TODAY).select(["restring"]).offer

    assert (offer.first_day, offer.ready) == (TODAY, date(2026, 12, 5))


@given(st.data())
def test_the_first_day_is_never_the_later_one(data: st.DataObject) -> None:
    """On any day, behind any bookings, for any walk-in; and a yes later on is never promised the past."""
    walkin = load_walkin(data.draw(st.sampled_from(WALKINS)))
    today = data.draw(st.dates(date(2026, 11, 1), date(2027, 2, 1)))
    days = st.dates(date(2026, 10, 20), date(2027, 3, 1))
    bookings = st.lists(st.builds(Booking, st.fractions(0, 12, max_denominator=4), days), max_size=12)
    booked = data.draw(bookings)

    quote = make_quote(book(), walkin, today, booked=booked)

    for offer in quote.offers.values():
        assert today <= offer.first_day <= offer.ready
    look = data.draw(st.dates(today, quote.valid_until))
    menu = Menu(quote, book(), look, booked)
    jobs = quote.offers["everything"].jobs
    now, planned = menu.select(jobs).offer, menu.planned_now(jobs)
    assert look <= now.first_day <= now.ready
    assert planned.ready == now.first_day
    assert all(one.end.date() <= planned.ready for one in planned.schedule if one.job in planned.critical)
