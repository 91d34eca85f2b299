"""Money: exact, rounded once a line, lines that add up, and no fuller offer for less."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.book.model import ROUNDING_WAYS, TAXABLE, TIERS, Tax
from intake.book.text import Text
from intake.quoting.effort import Work, carried
from intake.quoting.model import Discount
from intake.quoting.money import to_money, to_step
from intake.quoting.price import price_job, price_offer
from intake.quoting.quote import quote_assessment

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


def test_what_is_missing_to_the_minimum_is_taxed_as_labour(make):
    """120 of labour, 80 to the minimum of 200: 10 % of 200."""
    shop = make.shop(minimum=Decimal(200), taxes=(make.tax("0.1", "labour"),))

    offer = one(make, make.job("a"), shop).offers["playable"]

    assert (offer.tax, offer.total) == (Decimal("20.00"), Decimal("220.00"))


def test_tax_included_is_shown_but_not_added(make):
    shop = make.shop(taxes=(make.tax("0.2", included=True),))
    assert one(make, make.job("a"), shop).offers["playable"].tax == Decimal("20.00")


def test_only_taxed_parts_are_taxed(make):
    parts = {"yes": make.part("yes", "10"), "no": make.part("no", "10", taxed=False)}
    job = make.job("a", parts=(("yes", Fraction(1)), ("no", Fraction(1))))
    shop = make.shop(taxes=(make.tax("0.1", "parts"),))
    assert one(make, job, shop, parts=parts).offers["playable"].tax == Decimal("1.00")


def test_several_taxes_each_on_its_own_kinds_of_line(make):
    """120 labour, 10 parts, 6 supplies: 5 % of 136 and 10 % of 10; both are lines and add up."""
    taxes = (make.tax("0.05", name="City"), make.tax("0.1", "parts", name="Goods"))
    shop = make.shop(taxes=taxes, supplies_rate=Decimal("0.05"))
    job = make.job("a", parts=(("p", Fraction(1)),))
    offer = one(make, job, shop, parts={"p": make.part("p", "10")}).offers["playable"]
    found = {str(line.name): str(line.amount) for line in offer.lines if line.kind == "tax"}
    assert found == {"City": "6.80", "Goods": "1.00"}
    assert (offer.tax, offer.total) == (Decimal("7.80"), Decimal("143.80"))


def test_an_included_tax_is_taken_out_before_an_added_one_is_reckoned(make):
    """120 with 20 % in it is 100 net: 20 is in it, and 5 % of 100 comes on top."""
    taxes = (make.tax("0.2", name="In", included=True), make.tax("0.05", name="On"))
    offer = one(make, make.job("a"), make.shop(taxes=taxes)).offers["playable"]
    assert [(tax.kind, str(tax.name), str(tax.amount)) for tax in offer.taxes] == [
        ("included", "In", "20.00"),
        ("tax", "On", "5.00"),
    ]
    assert [line.kind for line in offer.lines] == ["tax"]
    assert (offer.tax, offer.total) == (Decimal("25.00"), Decimal("125.00"))


def test_two_included_taxes_share_one_price(make):
    """110 is 100 net with 4 and 6 in it: neither is taxed by the other."""
    taxes = (make.tax("0.04", included=True), make.tax("0.06", included=True))
    offer = one(make, make.job("a"), make.shop(labour_rate=Decimal(55), taxes=taxes)).offers["playable"]
    assert [str(tax.amount) for tax in offer.taxes] == ["4.00", "6.00"]


def test_a_part_without_a_price_has_cost_and_markup(make):
    job = make.job("a", parts=(("p", Fraction(3)),))
    parts = {"p": make.part("p", None, cost="2.33")}
    shop = make.shop(parts_markup=Decimal("0.6"))
    assert one(make, job, shop, parts=parts).jobs[0].parts == (("p", 3, Decimal("11.19")),)


def test_supplies_have_a_cap(make):
    shop = make.shop(supplies_rate=Decimal("0.05"), supplies_most=Decimal(4))
    assert one(make, make.job("a"), shop).offers["playable"].total == Decimal("124.00")


@pytest.mark.parametrize(("way", "total"), [("nearest", "105.00"), ("up", "105.00"), ("down", "100.00")])
def test_the_total_goes_to_a_step_in_the_shops_direction(make, way, total):
    shop = make.shop(labour_rate=Decimal("51.25"), rounding=STEP, rounding_way=way)
    offer = one(make, make.job("a"), shop).offers["playable"]
    assert str(offer.total) == total
    assert sum(line.amount for line in offer.lines) == offer.total - Decimal("102.50")


@pytest.mark.parametrize(
    ("discount", "off", "tax", "total"),
    [
        (Discount("regular", rate=Decimal("0.1")), "-12.00", "10.80", "118.80"),
        (Discount("our delay", amount=Decimal("20")), "-20.00", "10.00", "110.00"),
        (Discount("goodwill", amount=Decimal("500")), "-120.00", None, "0.00"),
    ],
)  # fmt: skip
def test_a_discount_is_a_line_with_its_reason_and_lowers_the_tax(make, discount, off, tax, total):
    book = make.book([make.job("a")], [("f", "a", "playable")], shop=make.shop(taxes=(make.tax("0.1"),)))
    quote = quote_assessment(book, make.assessment("f"), make.today, adjust=discount)
    offer = quote.offers["playable"]
    lines = {line.kind: line for line in offer.lines}
    assert str(lines["discount"].amount) == off
    assert discount.reason in lines["discount"].name["en"] and discount.reason in lines["discount"].name["fr"]
    assert (str(lines["tax"].amount) if "tax" in lines else None) == tax
    assert (str(offer.total), quote.discount) == (total, discount)


@pytest.mark.parametrize(
    "wrong", [{"rate": Decimal("1.01")}, {"rate": Decimal("-0.1")}, {"amount": Decimal(-1)}]
)
def test_a_discount_that_cannot_be_is_refused(wrong):
    with pytest.raises(ValueError, match="discount"):
        Discount("why", **wrong)
    with pytest.raises(ValueError, match="reason"):
        Discount(" ", amount=Decimal(1))


def test_the_deposit_is_a_share_of_the_total(make):
    shop = make.shop(deposit_rate=Decimal("0.25"), labour_rate=Decimal("60.05"))
    assert one(make, make.job("a"), shop).offers["playable"].deposit == Decimal("30.03")


@pytest.mark.parametrize(
    ("currency", "labour", "tax", "total"),
    [("USD", "19.98", "1.60", "21.58"), ("JPY", "20", "2", "22"), ("KWD", "19.980", "1.598", "21.578")],
)
def test_a_currency_has_its_own_decimals(make, currency, labour, tax, total):
    """Digits of ISO 4217: 2, 0 and 3."""
    shop = make.shop(currency=currency, rounding=Decimal(0), taxes=(make.tax("0.08"),))
    offer = one(make, make.job("a", hours=make.hours("0.333")), shop).offers["playable"]
    assert (str(offer.labour), str(offer.tax), str(offer.total)) == (labour, tax, total)


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


CURRENCIES = {"EUR": 2, "JPY": 0, "KWD": 3}


@st.composite
def tickets(draw):
    """A shop, its operations and parts, and jobs with what each costs by itself."""
    currency = draw(st.sampled_from(sorted(CURRENCIES)))
    digits = CURRENCIES[currency]

    def money(most):
        return Decimal(draw(st.integers(0, most * 10**digits))).scaleb(-digits)

    def share(most):
        return Decimal(draw(st.integers(0, most))) / 1000

    taxes = [
        Tax(NAME, share(250), tuple(sorted(draw(st.sets(st.sampled_from(TAXABLE))))), draw(st.booleans()))
        for _ in range(draw(st.integers(0, 3)))
    ]
    shop = {
        "currency": currency,
        "labour_rate": money(99),
        "supplies_rate": share(100),
        "supplies_most": draw(st.sampled_from([None, Decimal(7)])),
        "minimum": draw(st.sampled_from([Decimal(0), Decimal(150)])),
        "rounding": draw(st.sampled_from([Decimal(0), Decimal("0.05"), Decimal(1), STEP])),
        "rounding_way": draw(st.sampled_from(ROUNDING_WAYS)),
        "taxes": tuple(taxes),
    }
    operations = draw(st.dictionaries(st.sampled_from("ABC"), st.integers(0, 30), min_size=1, max_size=3))
    parts = {id: (money(40), draw(st.booleans()), draw(st.sampled_from(["set", "piece"]))) for id in "pq"}
    jobs = []
    for number in range(draw(st.integers(1, 6))):
        shared = tuple(sorted(draw(st.sets(st.sampled_from(sorted(operations))))))
        fitted = tuple((id, Fraction(draw(st.integers(1, 4)))) for id in draw(st.sets(st.sampled_from("pq"))))
        flat = draw(st.one_of(st.none(), st.integers(0, 9000)))
        jobs.append((str(number), draw(st.integers(0, 60)), shared, flat, fitted))
    discount = draw(
        st.sampled_from(
            [
                None,
                Discount("r", rate=Decimal("0.15")),
                Discount("a", amount=STEP),
                Discount("b", Decimal("0.333"), Decimal(3)),
            ]
        )
    )
    return shop, operations, parts, jobs, discount


class Priced:
    """A drawn ticket as the arguments of price_offer."""

    def __init__(self, make, drawn):
        shop, operations, parts, jobs, self.discount = drawn
        self.book = make.book(
            [],
            shop=make.shop(**shop),
            operations={id: make.operation(id, n / 10) for id, n in operations.items()},
            parts={
                id: make.part(id, str(price), taxed, unit=unit) for id, (price, taxed, unit) in parts.items()
            },
        )
        self.works = [Work(id, make.hours(tenths / 10), shared) for id, tenths, shared, _, _ in jobs]
        self.prices = {
            work.job: price_job(
                make.job(work.job, price=None if flat is None else Decimal(flat) / 100),
                work, Fraction(1), fitted, self.book.parts, self.book.shop,
            )
            for work, (_, _, _, flat, fitted) in zip(self.works, jobs, strict=True)
        }  # fmt: skip

    def sum(self, works):
        parts = carried(works, self.book.operations)
        return price_offer(works, parts, self.prices, self.book, self.discount)


@given(tickets(), st.data())
def test_lines_and_added_tax_are_the_total_whatever_the_order(make, drawn, data):
    priced = Priced(make, drawn)
    total = priced.sum(priced.works)
    jobs = sum(priced.prices[work.job].total for work in priced.works)
    assert jobs + sum(line.amount for line in total.lines) == total.total >= 0
    assert total.tax == sum(tax.amount for tax in total.taxes)
    assert -total.total.as_tuple().exponent == CURRENCIES[priced.book.shop.currency]
    other_order = priced.sum(data.draw(st.permutations(priced.works)))
    assert (other_order.total, other_order.tax) == (total.total, total.tax)


@given(tickets(), st.data())
def test_an_offer_that_contains_another_never_costs_less(make, drawn, data):
    """Where a minimum is filled up, untaxed work takes the place of taxed, so one tax on all is drawn."""
    shop, *rest = drawn
    if shop["minimum"]:
        rest[1] = {id: (price, True, unit) for id, (price, _, unit) in rest[1].items()}
        shop = {**shop, "taxes": tuple(replace(tax, on=TAXABLE) for tax in shop["taxes"])}
    priced = Priced(make, (shop, *rest))
    kept = [work for work in priced.works if data.draw(st.booleans())]
    assert priced.sum(kept).total <= priced.sum(priced.works).total


@given(st.integers(0, 10**6), st.integers(1, 9), st.integers(1, 9), st.sampled_from(sorted(CURRENCIES)))
def test_parts_bought_in_two_goes_cost_what_they_cost_in_one(make, cents, some, more, currency):
    shop = make.shop(currency=currency, parts_markup=Decimal("0.37"))
    part = make.part("p", None, cost=str(Decimal(cents) / 1000))
    nothing = Work("a", make.hours(0), ())

    def cost(count):
        return price_job(
            make.job("a"), nothing, Fraction(1), [("p", Fraction(count))], {"p": part}, shop
        ).total

    assert cost(some) + cost(more) == cost(some + more)


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
