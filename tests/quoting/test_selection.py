"""What a customer picks: closed under needs, priced as the quote's own offers are."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.book.model import Book
from intake.config import demo_book
from intake.quoting.model import Booking
from intake.quoting.quote import make_quote
from intake.quoting.selection import Menu
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

TODAY = date(2026, 11, 25)
WALKINS = sorted((demo_book() / "walkins").glob("*.toml"))


@cache
def book() -> Book:
    return sample_book()


@cache
def menu(number: int) -> Menu:
    return Menu(make_quote(book(), load_walkin(WALKINS[number]), TODAY), book())


NUMBERS = range(len(WALKINS))


@pytest.mark.parametrize("number", NUMBERS, ids=[path.stem for path in WALKINS])
def test_the_quotes_own_offers_come_out_to_the_cent_and_the_minute(number: int) -> None:
    """Worked out anew from the picked jobs alone, not looked up."""
    for offer in menu(number).quote.offers.values():
        again = menu(number)._priced(menu(number)._plan_of(offer))
        assert (again.jobs, again.lines, again.total) == (offer.jobs, offer.lines, offer.total)
        assert (again.ready, again.schedule) == (offer.ready, offer.schedule)
        known = menu(number).select(offer.jobs).offer
        assert (known.jobs, known.total, known.ready) == (offer.jobs, offer.total, offer.ready)


@given(st.data())
def test_any_choice_is_closed_adds_up_and_says_why(data: st.DataObject) -> None:
    one = menu(data.draw(st.sampled_from(NUMBERS)))
    picked = data.draw(st.sets(st.sampled_from(sorted(one.jobs))) if one.jobs else st.just(set()))
    made = one.select(picked)
    offer = made.offer
    done = {*offer.jobs, *(inner for inside in offer.includes.values() for inner in inside)}
    for job in done:
        assert one.needs(job) - set(made.instead) <= done
    assert picked <= done | set(made.instead)
    assert set(offer.jobs) - picked == set(made.needed_by)
    prices = {job.id: job.price for job in one.quote.jobs}
    if set(offer.jobs) <= set(prices):
        lines = sum((line.amount for line in offer.lines), Decimal(0))
        assert sum((prices[id] for id in offer.jobs), lines) == offer.total
    assert (offer.total > 0) == bool(offer.jobs)


@given(st.data())
def test_what_is_dropped_does_not_come_back(data: st.DataObject) -> None:
    one = menu(data.draw(st.sampled_from([n for n in NUMBERS if menu(n).jobs])))
    picked = data.draw(st.sets(st.sampled_from(sorted(one.jobs)), min_size=1))
    job = data.draw(st.sampled_from(sorted(picked)))
    rest, gone = one.without(picked, job)
    assert job not in rest and rest | {job, *gone} == picked
    assert job not in one.select(rest).offer.jobs


def test_a_later_start_or_a_fuller_bench_moves_the_day_and_not_the_sum() -> None:
    quote = menu(2).quote
    jobs = quote.offers["put_right"].jobs
    usual = menu(2).select(jobs).offer
    late = Menu(quote, book(), start=date(2026, 12, 20)).select(jobs).offer
    full = Menu(quote, book(), booked=[Booking(Fraction(60))]).select(jobs).offer
    for other in (late, full):
        assert other.ready > usual.ready and other.total == usual.total and other.jobs == usual.jobs


def test_an_early_start_promises_nothing_earlier() -> None:
    quote = menu(2).quote
    jobs = quote.offers["put_right"].jobs
    assert Menu(quote, book(), start=TODAY).select(jobs).offer.ready == quote.offers["put_right"].ready


def test_what_the_quote_does_not_have_cannot_be_picked() -> None:
    with pytest.raises(KeyError):
        menu(2).select(["gold-plating"])
