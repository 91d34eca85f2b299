"""What jobs and offers cost: exact decimals, one rounding a line, and lines that add up to the total."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from intake.book.model import Book, Job, Operation, Part, Shop
from intake.quoting.effort import Carried, Work, mean
from intake.quoting.model import Line
from intake.quoting.money import digits_of, to_money, to_step, whole_money
from intake.quoting.phrases import phrase

PartLine = tuple[str, Fraction, Decimal]


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
    """An offer's money. Job prices plus `lines` equal `total`; labour is after shared work."""

    lines: tuple[Line, ...]
    labour: Decimal
    parts: Decimal
    tax: Decimal
    total: Decimal


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
    priced = ((id, count, to_money(Fraction(catalogue[id].price) * count, digits)) for id, count in parts)
    return JobPrice(to_money(labour, digits), tuple(priced))


def price_offer(
    works: Sequence[Work], operations: Sequence[Carried], prices: Mapping[str, JobPrice], book: Book
) -> Sum:
    """Add up an offer whose jobs are `works`, in bench order; `operations` is what they carry."""
    shop, digits = book.shop, digits_of(book.shop.currency)
    shared = _shared_lines(operations, prices, book.operations, shop)
    sets = _shared_sets(works, prices, book.parts)
    labour = sum((prices[work.job].labour for work in works), Decimal(0)) + _sum(shared)
    part_lines = [line for work in works for line in prices[work.job].parts]
    parts = sum((amount for _, _, amount in part_lines), Decimal(0)) + _sum(list(sets.values()))
    supplies = to_money(Fraction(labour) * Fraction(shop.supplies_rate), digits)
    short = max(shop.minimum - labour - parts - supplies, Decimal(0)) if works else Decimal(0)
    lines = [Line("supplies", phrase("supplies"), supplies)]
    lines.append(Line("minimum", phrase("minimum"), to_money(short, digits)))
    taxed = supplies + sum(amount for id, _, amount in part_lines if book.parts[id].taxed)
    taxed += sum(line.amount for id, line in sets.items() if book.parts[id].taxed)
    taxed += labour + short if shop.tax_labour else Decimal(0)
    tax = _tax(taxed, shop)
    if not shop.tax_included:
        lines.append(Line("tax", shop.tax_name, tax))
    exact = labour + parts + _sum(lines)
    total = to_step(exact, shop.rounding, digits)
    lines.append(Line("rounding", phrase("rounding"), total - exact))
    kept = tuple(line for line in (*shared, *sets.values(), *lines) if line.amount)
    return Sum(kept, to_money(labour, digits), to_money(parts, digits), tax, to_money(total, digits))


def _shared_sets(
    works: Sequence[Work], prices: Mapping[str, JobPrice], catalogue: Mapping[str, Part]
) -> dict[str, Line]:
    """Parts sold as a set (strings) go on once: what all but the dearest of them cost, taken off."""
    amounts: dict[str, list[Decimal]] = {}
    for id, _, amount in (line for work in works for line in prices[work.job].parts):
        if catalogue[id].unit == "set":
            amounts.setdefault(id, []).append(amount)
    return {id: Line("shared", catalogue[id].name, max(each) - sum(each)) for id, each in amounts.items()}


def _sum(lines: Sequence[Line]) -> Decimal:
    return sum((line.amount for line in lines), Decimal(0))


def _tax(taxed: Decimal, shop: Shop) -> Decimal:
    """Tax on top of the taxed sum, or the tax that is in it."""
    rate = Fraction(shop.tax_rate)
    share = rate / (1 + rate) if shop.tax_included else rate
    return to_money(Fraction(taxed) * share, digits_of(shop.currency))


def _shared_lines(
    parts: Sequence[Carried], prices: Mapping[str, JobPrice], operations: Mapping[str, Operation], shop: Shop
) -> list[Line]:
    """For each operation that several jobs have: what all but the dearest of them cost, taken off."""
    digits = digits_of(shop.currency)
    amounts: dict[str, list[Decimal]] = {}
    left: dict[str, Decimal] = {}
    for part in parts:
        worth = whole_money(Fraction(shop.labour_rate) * mean(part.hours), digits)
        free = left.get(part.job, prices[part.job].labour)
        amount = min(worth, free)
        left[part.job] = free - amount
        amounts.setdefault(part.operation, []).append(amount)
    saved = {id: max(several) - sum(several) for id, several in amounts.items()}
    return [Line("shared", operations[id].name, amount) for id, amount in saved.items()]
