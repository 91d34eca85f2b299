"""What jobs and offers cost: exact decimals, one rounding a line, and lines that add up to the total."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from intake.book.model import TAXABLE, Book, Job, Operation, Part, Shop, Taxable
from intake.quoting.discount import share_off
from intake.quoting.effort import Carried, Work, mean
from intake.quoting.model import Discount, Line
from intake.quoting.money import digits_of, to_money, to_step, whole_money
from intake.quoting.phrases import phrase

PartLine = tuple[str, Fraction, Decimal]
NOTHING = Decimal(0)


@dataclass(frozen=True)
class JobPrice:
    """One job by itself: labour, and its parts as (id, quantity, amount)."""

    labour: Decimal
    parts: tuple[PartLine, ...]

    @property
    def total(self) -> Decimal:
        return self.labour + sum(amount for _, _, amount in self.parts)


@dataclass(frozen=True)
class Sum:
    """An offer's money. Job prices plus `lines` equal `total`; labour and parts are after what is shared.

    `taxes` names every tax, of kind `tax` if it is added (then among `lines` too), else `included`; `tax`
    is all of them. `deposit` is what the shop asks for before it starts.
    """

    lines: tuple[Line, ...]
    labour: Decimal
    parts: Decimal
    taxes: tuple[Line, ...]
    tax: Decimal
    total: Decimal
    deposit: Decimal


def part_price(part: Part, shop: Shop) -> Decimal:
    """A part's price for one; without one, its cost and the shop's markup."""
    if part.price is not None:
        return part.price
    return to_money(Fraction(part.cost) * (1 + Fraction(shop.parts_markup)), digits_of(shop.currency))


def price_job(
    job: Job,
    work: Work,
    factor: Fraction,
    parts: Sequence[tuple[str, Fraction]],
    catalogue: Mapping[str, Part],
    shop: Shop,
) -> JobPrice:
    """Rate × mean hours (quantity and factors are in `work`), or flat price × factors; and the parts.

    `parts` are for the whole quantity.
    """
    digits = digits_of(shop.currency)
    hourly = Fraction(shop.labour_rate) * mean(work.hours)
    labour = hourly if job.price is None else Fraction(job.price) * factor
    priced = (
        (id, count, to_money(Fraction(part_price(catalogue[id], shop)) * count, digits))
        for id, count in parts
    )
    return JobPrice(to_money(labour, digits), tuple(priced))


def price_offer(
    works: Sequence[Work],
    operations: Sequence[Carried],
    prices: Mapping[str, JobPrice],
    book: Book,
    discount: Discount | None = None,
    whole: Decimal = NOTHING,
) -> Sum:
    """Add up an offer whose jobs are `works`; `operations` is what they carry.

    An amount of discount is for a price of `whole`; an offer of less has its share of it.

    In this order: labour and parts, less what is shared; supplies, a share of the labour; what is missing
    to the minimum, which counts as labour; the discount, on every kind of line alike; tax; rounding.
    """
    shop, digits = book.shop, digits_of(book.shop.currency)
    work = _work(works, operations, prices, book)
    supplies = _supplies(work.labour, shop, digits)
    short = max(shop.minimum - work.labour - work.parts - supplies, NOTHING) if works else NOTHING
    short = to_money(short, digits)
    before = work.labour + work.parts + supplies + short
    share = share_off(discount, before, whole)
    off = to_money(Fraction(before) * share, digits)
    taxable = {"labour": work.labour + short, "parts": work.taxed_parts, "supplies": supplies}
    taxes = _taxes(taxable, 1 - share, shop, digits)
    added = [tax for tax in taxes if tax.kind == "tax"]
    exact = before - off + _sum(added)
    total = to_step(exact, shop.rounding, digits, shop.rounding_way)
    lines = (
        *work.shared,
        Line("supplies", phrase("supplies"), supplies),
        Line("minimum", phrase("minimum"), short),
        Line("discount", phrase("discount", reason=discount.reason if discount else ""), -off),
        *added,
        Line("rounding", phrase("rounding"), total - exact),
    )
    return Sum(
        lines=tuple(line for line in lines if line.amount),
        labour=to_money(work.labour, digits),
        parts=to_money(work.parts, digits),
        taxes=tuple(tax for tax in taxes if tax.amount),
        tax=to_money(_sum(taxes), digits),
        total=to_money(total, digits),
        deposit=_deposit(total, shop, digits),
    )


def _deposit(total: Decimal, shop: Shop, digits: int) -> Decimal:
    """What is due before work starts; nothing for an offer under the shop's least amount."""
    share = shop.deposit_rate if total >= shop.deposit_from else NOTHING
    return to_money(Fraction(total) * Fraction(share), digits)


@dataclass(frozen=True)
class _Work:
    """The jobs of an offer added up, after what they share."""

    shared: tuple[Line, ...]
    labour: Decimal
    parts: Decimal
    taxed_parts: Decimal


def _work(
    works: Sequence[Work], operations: Sequence[Carried], prices: Mapping[str, JobPrice], book: Book
) -> _Work:
    shared = _shared_lines(operations, prices, book.operations, book.shop)
    sets = _shared_sets(works, prices, book.parts)
    amounts = [(id, amount) for work in works for id, _, amount in prices[work.job].parts]
    amounts += [(id, line.amount) for id, line in sets.items()]
    return _Work(
        shared=(*shared, *sets.values()),
        labour=sum((prices[work.job].labour for work in works), NOTHING) + _sum(shared),
        parts=sum((amount for _, amount in amounts), NOTHING),
        taxed_parts=sum((amount for id, amount in amounts if book.parts[id].taxed), NOTHING),
    )


def _supplies(labour: Decimal, shop: Shop, digits: int) -> Decimal:
    share = to_money(Fraction(labour) * Fraction(shop.supplies_rate), digits)
    return share if shop.supplies_most is None else to_money(min(share, shop.supplies_most), digits)


def _taxes(taxable: Mapping[str, Decimal], kept: Fraction, shop: Shop, digits: int) -> list[Line]:
    """Each tax on its kinds of line. Included taxes are taken out of the price; none is taxed by another."""
    net = {kind: Fraction(taxable[kind]) * kept / (1 + _included(kind, shop)) for kind in TAXABLE}
    return [
        Line(
            "included" if tax.included else "tax",
            tax.name,
            to_money(Fraction(tax.rate) * sum(net[kind] for kind in tax.on), digits),
        )
        for tax in shop.taxes
    ]


def _included(kind: Taxable, shop: Shop) -> Fraction:
    return sum((Fraction(tax.rate) for tax in shop.taxes if tax.included and kind in tax.on), Fraction(0))


def _shared_sets(
    works: Sequence[Work], prices: Mapping[str, JobPrice], catalogue: Mapping[str, Part]
) -> dict[str, Line]:
    """Parts sold as a set (strings) go on once: what all but the dearest of them cost, taken off."""
    amounts: dict[str, list[Decimal]] = {}
    for id, _, amount in (line for work in works for line in prices[work.job].parts):
        if catalogue[id].unit == "set":
            amounts.setdefault(id, []).append(amount)
    return {
        id: Line("shared", phrase("shared", work=catalogue[id].name), max(each) - sum(each))
        for id, each in amounts.items()
    }


def _sum(lines: Iterable[Line]) -> Decimal:
    return sum((line.amount for line in lines), NOTHING)


def _shared_lines(
    parts: Sequence[Carried], prices: Mapping[str, JobPrice], operations: Mapping[str, Operation], shop: Shop
) -> list[Line]:
    """For each operation that several jobs have: what all but the dearest of them cost, taken off."""
    digits, rate = digits_of(shop.currency), Fraction(shop.labour_rate)
    amounts: dict[str, list[Decimal]] = {}
    left: dict[str, Decimal] = {}
    for part in parts:
        worth = whole_money(rate * part.mean, digits)
        free = left.get(part.job, prices[part.job].labour)
        amount = min(worth, free)
        left[part.job] = free - amount
        amounts.setdefault(part.operation, []).append(amount)
    saved = {id: max(several) - sum(several) for id, several in amounts.items()}
    return [
        Line("shared", phrase("shared", work=operations[id].name), amount) for id, amount in saved.items()
    ]
