"""Money: exact, rounded once a line, lines that add up, and no fuller offer for less."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from intake.book.model import TAXABLE, TIERS, Tax, Text
from intake.quoting.effort import Work, carried
from intake.quoting.money import to_money, to_step
from intake.quoting.price import JobPrice, price_offer

STEP = Decimal(5)
NAME = Text(en="Tax")


def one(make, job, shop=None, **given):
    """The quote of a book with one job that one finding asks for."""
    book = make.book(
        [job], [("f", job.id, "playable", *given.pop("row", ()))], shop=shop or make.shop(), **given
    )
    return make.quote(book, "f")


def test_a_job_costs_rate_times_mean_times_quantity_times_factors_plus_parts(make):
    job = make.job("refret", hours=make.hours(1, 2, 4), parts=(("wire", Fraction(2)),))
    factors = make.table("factors", ("job", "family"), [('"refret"', '"bass"', Fraction(3, 2))], ("factor",))
    given = {"factors": factors, "parts": {"wire": make.part("wire", "1.25")}}
    book = make.book([job], [("f", "refret", "playable", 3)], **given)
    (priced,) = make.quote(book, "f", facts={"family": "bass"}).jobs
    hours = Fraction(1 + 4 * 2 + 4, 6) * 3 * Fraction(3, 2)
    assert priced.labour == to_money(60 * hours, 2) == Decimal("585.00")
    assert priced.parts == (("wire", 6, Decimal("7.50")),)
    assert priced.price == Decimal("592.50")
    (plain,) = make.quote(book, "f").jobs
    assert plain.labour == Decimal("390.00")


def test_a_flat_price_stands_for_rate_hours_and_quantity(make):
    factors = make.table("factors", ("job",), [('"a"', Fraction(3, 2))], ("factor",))
    quote = one(make, make.job("a", price=Decimal(40)), row=(3,), factors=factors)
    assert quote.jobs[0].labour == Decimal("60.00")


def test_parts_fitted_by_circumstance_join_the_jobs_own(make):
    fitting = make.table(
        "fitting", ("job", "string_count"), [('"a"', "12", "set", Fraction(2))], ("part", "quantity")
    )
    book = make.book(
        [make.job("a")], [("f", "a", "playable")], fitting=fitting, parts={"set": make.part("set", "9")}
    )
    assert make.quote(book, "f", facts={"string_count": Fraction(12)}).offers["playable"].parts == Decimal(
        "18.00"
    )
    assert make.quote(book, "f", facts={"string_count": Fraction(6)}).offers["playable"].parts == Decimal(
        "0.00"
    )


def test_shared_work_is_a_line_of_its_own(make):
    jobs = [make.job(id, operations=("strings",)) for id in ("a", "b", "c")]
    operations = {"strings": make.operation("strings", 0.5)}
    book = make.book(jobs, [("f", job.id, "playable") for job in jobs], operations=operations)
    offer = make.quote(book, "f").offers["playable"]
    assert [(line.kind, line.amount) for line in offer.lines] == [("shared", Decimal("-60.00"))]
    assert (offer.labour, offer.total) == (Decimal("300.00"), Decimal("300.00"))


@pytest.mark.parametrize(
    ("shop", "kinds", "total"),
    [
        ({"minimum": Decimal(200)}, {"minimum": "80.00"}, "200.00"),
        ({"supplies_rate": Decimal("0.05")}, {"supplies": "6.00"}, "126.00"),
        ({"taxes": (Tax(NAME, Decimal("0.0825")),)}, {"tax": "9.90"}, "129.90"),
        ({"taxes": (Tax(NAME, Decimal("0.2"), included=True),)}, {}, "120.00"),
        ({"taxes": (Tax(NAME, Decimal("0.2"), ("parts", "supplies")),)}, {}, "120.00"),
        ({"minimum": Decimal(126), "rounding": STEP}, {"minimum": "6.00", "rounding": "-1.00"}, "125.00"),
    ],
)  # fmt: skip
def test_adjustments_are_lines_and_lines_add_up(make, shop, kinds, total):
    offer = one(make, make.job("a"), make.shop(**shop)).offers["playable"]
    assert {line.kind: str(line.amount) for line in offer.lines} == kinds
    assert str(offer.total) == total


def test_tax_included_is_shown_but_not_added(make):
    shop = make.shop(taxes=(make.tax("0.2", included=True),))
    assert one(make, make.job("a"), shop).offers["playable"].tax == Decimal("20.00")


def test_only_taxed_parts_are_taxed(make):
    parts = {"yes": make.part("yes", "10"), "no": make.part("no", "10", taxed=False)}
    job = make.job("a", parts=(("yes", Fraction(1)), ("no", Fraction(1))))
    shop = make.shop(taxes=(make.tax("0.1", "parts"),))
    assert one(make, job, shop, parts=parts).offers["playable"].tax == Decimal("1.00")


def test_a_currency_has_its_own_decimals(make):
    offer = one(
        make, make.job("a", hours=make.hours("0.333")), make.shop(currency="JPY", rounding=Decimal(1))
    ).offers["playable"]
    assert str(offer.total) == "20"


def test_an_offer_without_work_costs_nothing(make):
    offer = make.quote(make.book([make.job("a")], shop=make.shop(minimum=Decimal(50))), "f").offers[
        "everything"
    ]
    assert (offer.total, offer.lines, offer.jobs) == (Decimal(0), (), ())


def test_a_fuller_offer_that_costs_less_takes_the_smaller_ones_place(make):
    jobs = [make.job(id) for id in ("rod", "nut")] + [make.job("setup", 11, includes=("rod", "nut"))]
    rows = [("f", "rod", "playable"), ("f", "nut", "playable"), ("f", "setup", "put_right")]
    quote = make.quote(make.book(jobs, rows), "f")
    assert quote.offers["playable"].jobs == ("setup",)
    assert [(job.id, job.tier) for job in quote.jobs] == [("setup", "playable")]


def test_rounding_goes_half_up():
    assert to_step(Decimal("102.50"), Decimal(5), 2) == Decimal("105.00")
    assert to_step(Decimal("10.02"), Decimal("0.05"), 2) == Decimal("10.00")
    assert to_step(Decimal("10.02"), Decimal(0), 2) == Decimal("10.02")
    assert (to_money(Fraction(5, 1000), 2), to_money(Fraction(-5, 1000), 2)) == (
        Decimal("0.01"),
        Decimal("-0.01"),
    )


@st.composite
def priced_jobs(draw):
    operations = draw(st.dictionaries(st.sampled_from("ABC"), st.integers(0, 30), min_size=1, max_size=3))
    works, flat = [], []
    for number in range(draw(st.integers(1, 6))):
        shared = tuple(draw(st.sets(st.sampled_from(sorted(operations)))))
        works.append((str(number), draw(st.integers(0, 60)), shared))
        flat.append(draw(st.one_of(st.none(), st.integers(0, 9000))))
    shop = {
        "labour_rate": Decimal(draw(st.integers(1, 9999))) / 100,
        "supplies_rate": Decimal(draw(st.integers(0, 10))) / 100,
        "minimum": Decimal(draw(st.integers(0, 200))),
        "rounding": draw(st.sampled_from([Decimal(0), Decimal("0.05"), Decimal(1), Decimal(5)])),
        "taxes": (Tax(NAME, Decimal(draw(st.integers(0, 2500))) / 10000, TAXABLE, draw(st.booleans())),),
    }
    return operations, works, flat, shop


@settings(max_examples=150, deadline=None)
@given(priced_jobs(), st.data())
def test_sums_are_exact_and_more_work_never_costs_less(make, drawn, data):
    operations, works, flat, shop = drawn
    book = make.book(
        [],
        shop=make.shop(**shop),
        operations={id: make.operation(id, n / 10) for id, n in operations.items()},
    )
    made = [Work(id, make.hours(tenths / 10), shared) for id, tenths, shared in works]
    prices = {
        work.job: JobPrice(to_money(Fraction(shop["labour_rate"]) * work.hours.usual, 2) if cents is None
                           else Decimal(cents) / 100, ())
        for work, cents in zip(made, flat, strict=True)
    }  # fmt: skip
    kept = [work for work in made if data.draw(st.booleans())]
    sums = [price_offer(some, carried(some, book.operations), prices, book) for some in (kept, made)]
    for some, total in zip((kept, made), sums, strict=True):
        assert (
            sum(prices[work.job].total for work in some) + sum(line.amount for line in total.lines)
            == total.total
        )
        assert total.total == round(total.total, 2) and total.total >= 0
    assert sums[0].total <= sums[1].total


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(TIERS), st.integers(0, 30), st.sets(st.integers(0, 5))),
        min_size=1,
        max_size=6,
    )
)
def test_the_three_offers_never_get_cheaper_upwards(make, drawn):
    jobs, rows = [], []
    for number, (tier, tenths, included) in enumerate(drawn):
        inside = tuple(f"j{other}" for other in included if other < len(drawn) and other != number)
        jobs.append(make.job(f"j{number}", hours=make.hours(tenths / 10), includes=inside))
        rows.append(("f", f"j{number}", tier))
    offers = make.quote(make.book(jobs, rows, shop=make.shop(minimum=Decimal(40))), "f").offers
    assert offers["playable"].total <= offers["put_right"].total <= offers["everything"].total
