"""Nobody bends the money: random picks from random walk-ins, at random prices, taxes, minima and discounts.

The oracle is the price of the same jobs without a discount, and the share of it that the discount leaves.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from intake.book.model import ROUNDING_WAYS, TAXABLE, TIERS, Book, Job, Shop, Tax
from intake.book.text import Text
from intake.config import demo_book
from intake.quoting.assess import assess
from intake.quoting.model import Assessment, Discount, Offer, Quote
from intake.quoting.money import digits_of
from intake.quoting.quote import quote_assessment
from intake.quoting.selection import Menu
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

TODAY = date(2026, 11, 28)
WALKINS = sorted((demo_book() / "walkins").glob("*.toml"))
NAME = Text(en="Tax")
CURRENCIES = ("USD", "JPY", "KWD")
NOTHING = Decimal(0)


@cache
def assessed(number: int) -> Assessment:
    """Findings do not hang on money, so each walk-in is assessed once."""
    return assess(sample_book(), load_walkin(WALKINS[number]))


@cache
def jobs_of(number: int) -> tuple[str, ...]:
    return tuple(job.id for job in quote_assessment(sample_book(), assessed(number), TODAY).jobs)


def decimals(most: int, places: int) -> st.SearchStrategy[Decimal]:
    return st.integers(0, most * 10**places).map(lambda whole: Decimal(whole).scaleb(-places))


taxes = st.builds(
    Tax,
    st.just(NAME),
    decimals(1, 3).map(lambda rate: rate / 4),
    st.sets(st.sampled_from(TAXABLE)).map(lambda kinds: tuple(sorted(kinds))),
    st.booleans(),
)


@st.composite
def shops(draw: st.DrawFn, like: Shop) -> Shop:
    """The demo shop with other rates, taxes, supplies, minimum and rounding, in another currency."""
    currency = draw(st.sampled_from(CURRENCIES))
    return replace(
        like,
        currency=currency,
        labour_rate=draw(decimals(150, digits_of(currency))),
        minimum=draw(decimals(300, digits_of(currency))),
        supplies_rate=draw(decimals(1, 3)) / 5,
        supplies_most=draw(st.none() | decimals(50, digits_of(currency))),
        rounding=draw(st.sampled_from([NOTHING, Decimal(1), Decimal(5)])),
        rounding_way=draw(st.sampled_from(ROUNDING_WAYS)),
        taxes=tuple(draw(st.lists(taxes, max_size=3))),
        deposit_rate=draw(decimals(1, 2)),
    )


def other_price(job: Job) -> st.SearchStrategy[Job]:
    return st.builds(lambda price: replace(job, price=price), st.none() | decimals(400, 0))


@st.composite
def books(draw: st.DrawFn, jobs: tuple[str, ...]) -> Book:
    """The demo book at other prices; some of those jobs at a flat price, free ones among them."""
    book = sample_book()
    flat = draw(st.sets(st.sampled_from(jobs), max_size=4)) if jobs else set()
    priced = {id: draw(other_price(book.jobs[id])) for id in sorted(flat)}
    return replace(book, shop=draw(shops(book.shop)), jobs={**book.jobs, **priced})


discounts = st.none() | st.builds(
    Discount, st.just("Because"), decimals(1, 3), decimals(3000, 0) | decimals(60, 0)
)


class Case(NamedTuple):
    """A quote and its book, told in a line when a test fails."""

    quote: Quote
    book: Book
    walkin: str

    def __repr__(self) -> str:
        shop = self.book.shop
        money = (shop.labour_rate, shop.minimum, shop.supplies_rate, shop.supplies_most, shop.rounding)
        return f"{self.walkin} {self.quote.discount} {shop.currency} {money} {shop.taxes}"


@st.composite
def quotes(draw: st.DrawFn) -> Case:
    """A walk-in quoted by a random book with a random discount."""
    number = draw(st.sampled_from(range(len(WALKINS))))
    book = draw(books(jobs_of(number)))
    quote = quote_assessment(book, assessed(number), TODAY, adjust=draw(discounts))
    return Case(quote, book, WALKINS[number].stem)


def picks(quote: Quote) -> st.SearchStrategy[set[str]]:
    return st.sets(st.sampled_from([job.id for job in quote.jobs])) if quote.jobs else st.just(set())


def without_discount(quote: Quote) -> Quote:
    """No pick is one of its offers, so all of it is worked out anew."""
    offers = {tier: replace(offer, jobs=("none",)) for tier, offer in quote.offers.items()}
    return replace(quote, discount=None, offers=offers)


def tolerance(shop: Shop) -> Decimal:
    """Half a coin for the discount and for each tax, twice, and a step of rounding each time."""
    coin = Decimal(1).scaleb(-digits_of(shop.currency))
    return coin * (2 + 2 * len(shop.taxes)) + 2 * shop.rounding


def kept(quote: Quote, offer: Offer, whole: Decimal) -> Fraction:
    """What the discount leaves of an offer, by its definition: the rate, and the share of the amount."""
    discount = quote.discount
    if discount is None or not offer.before:
        return Fraction(1)
    amount = Fraction(discount.amount) * min(Fraction(offer.before) / Fraction(whole or offer.before), 1)
    return max(1 - Fraction(discount.rate) - amount / Fraction(offer.before), Fraction(0))


slow = settings(suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])


@slow
@given(st.data())
def test_a_pick_costs_its_own_price_less_its_share_of_the_discount(data: st.DataObject) -> None:
    quote, book, _ = data.draw(quotes())
    picked = data.draw(picks(quote))
    menu = Menu(quote, book)

    offer = menu.select(picked).offer
    plain = Menu(without_discount(quote), book).select(picked).offer

    assert offer.jobs == plain.jobs and offer.before == plain.before
    wanted = Fraction(plain.total) * kept(quote, offer, menu.whole)
    assert abs(Fraction(offer.total) - wanted) <= tolerance(book.shop)


@slow
@given(st.data())
def test_no_pick_is_below_nothing_or_taken_more_off_than_the_whole(data: st.DataObject) -> None:
    quote, book, _ = data.draw(quotes())
    menu = Menu(quote, book)
    coin = Fraction(1, 10 ** digits_of(book.shop.currency))
    discount = quote.discount

    for offer in (*quote.offers.values(), menu.select(data.draw(picks(quote))).offer):
        off = -sum((line.amount for line in offer.lines if line.kind == "discount"), NOTHING)
        assert 0 <= off <= offer.before
        assert offer.total >= 0 and 0 <= offer.deposit <= offer.total and offer.tax >= 0
        if discount and menu.whole:
            share = Fraction(discount.rate) + Fraction(discount.amount) / Fraction(menu.whole)
            assert off <= Fraction(offer.before) * share + coin


@slow
@given(st.data())
def test_what_is_taken_out_leaves_the_rest_at_the_price_of_the_rest_alone(data: st.DataObject) -> None:
    """Whatever was picked before, and in whatever order it was taken out and put back."""
    quote, book, _ = data.draw(quotes())
    menu, picked = Menu(quote, book), data.draw(picks(quote))
    for job in data.draw(st.permutations(sorted(picked)))[:3]:
        rest, gone = menu.without(picked, job)
        menu.select(rest)
        picked = rest | (set(gone) if data.draw(st.booleans()) else set())

    assert menu.select(picked).offer == Menu(quote, book).select(picked).offer


@slow
@given(st.data())
def test_the_shops_own_page_shows_no_more_for_the_same_jobs(data: st.DataObject) -> None:
    """An offer picked job by job is the offer; a pick that names what it needs too is the same pick."""
    quote, book, _ = data.draw(quotes())
    menu = Menu(quote, book)
    for offer in quote.offers.values():
        assert menu.select(offer.jobs).offer.total == offer.total

    chosen = menu.select(data.draw(picks(quote)))
    named = chosen.picked | {job for job in chosen.offer.jobs if job in menu.jobs}

    assert menu.select(named).offer.total == chosen.offer.total


@slow
@given(st.data())
def test_offers_nest_and_the_minimum_is_kept_before_the_discount(data: st.DataObject) -> None:
    quote, book, _ = data.draw(quotes())
    offers = [quote.offers[tier] for tier in TIERS]
    picked = Menu(quote, book).select(data.draw(picks(quote))).offer

    assert sorted(offer.total for offer in offers) == [offer.total for offer in offers]
    for offer in (*offers, picked):
        assert offer.before >= book.shop.minimum or not offer.jobs
        short = [line.amount for line in offer.lines if line.kind == "minimum"]
        assert not short or offer.before == book.shop.minimum


@slow
@given(st.data())
def test_lines_add_up_and_the_total_is_a_coin_of_the_currency(data: st.DataObject) -> None:
    quote, book, _ = data.draw(quotes())
    prices = {job.id: job.price for job in quote.jobs}
    picked = Menu(quote, book).select(data.draw(picks(quote))).offer

    for offer in (*quote.offers.values(), picked):
        lines = sum((line.amount for line in offer.lines), NOTHING)
        if set(offer.jobs) <= set(prices):
            assert sum((prices[id] for id in offer.jobs), NOTHING) + lines == offer.total
        assert not book.shop.rounding or offer.total % book.shop.rounding == 0
        assert -offer.total.as_tuple().exponent == digits_of(book.shop.currency)


@slow
@given(st.data())
def test_one_job_more_never_costs_less(data: st.DataObject) -> None:
    """But where a stronger job takes in what stood alone, or lifts untaxed work over the minimum."""
    quote, book, _ = data.draw(quotes())
    shop = replace(book.shop, taxes=tuple(replace(tax, on=TAXABLE) for tax in book.shop.taxes))
    parts = {id: replace(part, taxed=True) for id, part in book.parts.items()}
    book = replace(book, shop=shop, parts=parts)
    quote = quote_assessment(book, quote.assessment, TODAY, adjust=quote.discount)
    if not quote.jobs:
        return
    menu = Menu(quote, book)
    picked = data.draw(picks(quote))
    more = data.draw(st.sampled_from([job.id for job in quote.jobs]))

    fewer, fuller = menu.select(picked).offer, menu.select(picked | {more}).offer

    if set(fewer.jobs) <= set(fuller.jobs):
        assert fewer.total <= fuller.total
