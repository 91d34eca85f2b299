"""The first twelve walk-ins' totals with their arithmetic: `python bench/totals.py` writes TOTALS.md.

The figures are taken from the quote, the factors from the plan; a test evaluates every line that is printed.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

from intake.book.files.load import load_book
from intake.book.model import Book, Hours
from intake.config import demo_book
from intake.quoting.effort import mean
from intake.quoting.model import Offer, Quote, Walkin
from intake.quoting.money import digits_of, whole_money
from intake.quoting.offers import Costed
from intake.quoting.phrases import phrase
from intake.quoting.plan import make_plan
from intake.quoting.quote import cost_jobs, make_quote
from intake.quoting.walkin import load_walkin

ONCE = str(phrase("shared", work=""))
TODAY = date(2026, 11, 24)
TARGET = demo_book() / "TOTALS.md"
SHOWN = 12
HEAD = """# The first twelve sample walk-ins' totals, by hand

Written by `python bench/totals.py` from the demo shop's book; a test works every line out again and fails
when this page is not current. A job is rate × mean hours × quantity × factor, plus its parts, each rounded
to the cent; the mean is (quick + 4 × usual + slow) / 6. Shared work is done once in an offer: for each
operation all but the dearest is taken off, each rounded down to the cent. Then supplies (at most
{supplies_most} {currency}), the minimum ({minimum}), and tax.

| operation | {rate} × mean hours, rounded down |
|---|---|
"""


def totals_text(book: Book, walkins: dict[str, Walkin]) -> str:
    """The whole page. `walkins`: file name without its ending → walk-in."""
    shop = book.shop
    head = HEAD.format(supplies_most=shop.supplies_most, currency=shop.currency, minimum=shop.minimum,
                       rate=shop.labour_rate)  # fmt: skip
    operations = "".join(
        f"| {operation.name} | floor({shop.labour_rate} × {_mean(operation.saving)}) = "
        f"{_held(operation.saving, book)} |\n"
        for operation in book.operations.values()
    )
    return "\n".join([head + operations, *(_Case(book, *case).text() for case in walkins.items())])


class _Case:
    """One walk-in: a table of its jobs, then each different offer's sum."""

    def __init__(self, book: Book, name: str, walkin: Walkin) -> None:
        self.book, self.name, self.walkin = book, name, walkin
        self.quote: Quote = make_quote(book, walkin, TODAY)
        assessment = self.quote.assessment
        self.costed = cost_jobs(make_plan(assessment, book), assessment.facts, book)

    def text(self) -> str:
        lines = [f"## {self.name}", "", self.walkin.title + ".", "", *self._jobs(), *self._offers()]
        return "\n".join([*lines, ""])

    def _jobs(self) -> Iterator[str]:
        if not self.quote.jobs:
            yield "No work."
            return
        yield from ("| job | labour | parts | price |", "|---|---|---|---|")
        for job in self.quote.jobs:
            labour = f"{self._labour(self.costed[job.id])} = {job.labour}"
            parts = "<br>".join(
                f"{id}: {self._part(id, count)} = {amount}" for id, count, amount in job.parts
            )
            total = " + ".join(str(amount) for amount in (job.labour, *(part[2] for part in job.parts)))
            yield f"| {job.id} | {labour} | {parts} | {total} = {job.price} |"

    def _labour(self, one: Costed) -> str:
        factor = "" if one.factor == 1 else f" × {one.factor}"
        if one.job.price is not None:
            return f"{one.job.price}{factor}"
        count = "" if one.quantity == 1 else f" × {one.quantity}"
        return f"{self.book.shop.labour_rate} × {_mean(one.job.hours)}{count}{factor}"

    def _part(self, id: str, count: Fraction) -> str:
        part = self.book.parts[id]
        if part.price is not None:
            return f"{part.price} × {count}"
        return f"{part.cost} × {1 + self.book.shop.parts_markup} × {count}"

    def _offers(self) -> Iterator[str]:
        for offer, tiers in self.quote.distinct_offers():
            if offer.jobs:
                yield from ("", f"**{' = '.join(tiers)}**: {', '.join(offer.jobs)}", "")
                yield from self._sum(offer)

    def _sum(self, offer: Offer) -> Iterator[str]:
        prices = [self.costed[id].price.total for id in offer.jobs]
        yield from _line("jobs", " + ".join(map(str, prices)), sum(prices, Decimal(0)))
        shared = [line for line in offer.lines if line.kind == "shared"]
        for line in shared:
            name = str(line.name).removeprefix(ONCE)
            yield f"- done once, {name}: {self._shared(name, offer)} = {line.amount}"
        labour = [self.costed[id].price.labour for id in offer.jobs]
        saved = [line.amount for line in shared if str(line.name).removeprefix(ONCE) in self._operations()]
        yield from _line("labour after that", _plus([*labour, *saved]), offer.labour)
        lines = {line.kind: line for line in offer.lines}
        if "supplies" in lines:
            share = f"{offer.labour} × {self.book.shop.supplies_rate}"
            capped = lines["supplies"].amount == self.book.shop.supplies_most
            yield from _line("supplies", f"min({share}, {self.book.shop.supplies_most})" if capped else share,
                             lines["supplies"].amount)  # fmt: skip
        net = sum(prices, Decimal(0)) + sum(line.amount for line in shared)
        others = [lines[kind].amount for kind in ("supplies", "minimum") if kind in lines]
        if "minimum" in lines:
            spent = " - ".join(map(str, [self.book.shop.minimum, net, *others[:-1]]))
            yield from _line("to the minimum", spent, lines["minimum"].amount)
        before = net + sum(others)
        yield from _line("before tax", _plus([sum(prices), *(x.amount for x in shared), *others]), before)
        for tax, rule in zip(offer.taxes, self.book.shop.taxes, strict=True):
            yield from _line(str(tax.name), f"{before} × {rule.rate}", tax.amount)
        taxes = [tax.amount for tax in offer.taxes if tax.kind == "tax"]
        rounding = [lines["rounding"].amount] if "rounding" in lines else []
        yield from _line("**total**", _plus([before, *taxes, *rounding]), offer.total)

    def _operations(self) -> set[str]:
        return {str(operation.name) for operation in self.book.operations.values()}

    def _shared(self, name: str, offer: Offer) -> str:
        """The dearest less all: what each job holds of the operation, or pays for the set."""
        jobs = [self.costed[id] for id in offer.jobs]
        held = [
            _held(part.hours, self.book)
            for one in jobs
            for part in one.carried
            if str(self.book.operations[part.operation].name) == name
        ] or [
            amount
            for one in jobs
            for id, _, amount in one.price.parts
            if str(self.book.parts[id].name) == name
        ]
        if len(set(held)) == 1:
            return f"{held[0]} - {len(held)} × {held[0]}"
        return f"max({', '.join(map(str, held))}) - " + " - ".join(map(str, held))


def _held(hours: Hours, book: Book) -> Decimal:
    return whole_money(Fraction(book.shop.labour_rate) * mean(hours), digits_of(book.shop.currency))


def _mean(hours: Hours) -> str:
    value = mean(hours)
    parts = [Fraction(part).limit_denominator(10**9) for part in (hours.quick, hours.usual, hours.slow)]
    quick, usual, slow = (_number(part) for part in parts)
    assert value == (parts[0] + 4 * parts[1] + parts[2]) / 6
    return f"({quick} + 4 × {usual} + {slow}) / 6"


def _number(value: Fraction) -> str:
    """A decimal where it ends, else a fraction in brackets."""
    text = f"{float(value):g}"
    return text if Fraction(text) == value else f"({value})"


def _plus(amounts: list[Decimal]) -> str:
    return " + ".join(str(amount) for amount in amounts).replace("+ -", "- ")


def _line(name: str, sum_: str, result: Decimal) -> Iterator[str]:
    yield f"- {name}: {sum_} = {result}"


def sample_walkins(folder: Path) -> dict[str, Walkin]:
    paths = sorted((folder / "walkins").glob("*.toml"), key=lambda path: int(path.name.split("-")[0]))[:SHOWN]
    return {path.stem: load_walkin(path) for path in paths}


def main() -> None:
    TARGET.write_text(totals_text(load_book(demo_book()), sample_walkins(demo_book())), "utf-8")
    print(f"{TARGET} is current.")


if __name__ == "__main__":
    main()
