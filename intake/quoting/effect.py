"""What a change of the book would have done to past walk-ins: the figures an owner reads before saving."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from intake.book.model import Book, Tier
from intake.book.tables import TableError
from intake.quoting.calendar import NeverOpenError
from intake.quoting.model import Quote, Walkin
from intake.quoting.quote import make_quote


@dataclass(frozen=True)
class Change:
    """One walk-in: the total of “put right” in both books; jobs that appear in or vanish from any offer."""

    walkin: str
    before: Decimal
    after: Decimal
    appear: tuple[str, ...]
    vanish: tuple[str, ...]

    @property
    def by(self) -> Decimal:
        return self.after - self.before


@dataclass(frozen=True)
class Effect:
    """`changes`: every walk-in that both books can quote, in the order given.

    `failed`: walk-in → why one of the books cannot; `broken`: those that only the new book cannot.
    `refused`: walk-in → the answers that only the new book refuses, by question.
    """

    currency: str
    changes: tuple[Change, ...]
    failed: Mapping[str, str]
    refused: Mapping[str, Mapping[str, str]]
    broken: tuple[str, ...] = ()

    @property
    def before(self) -> Decimal:
        return sum((change.before for change in self.changes), Decimal(0))

    @property
    def after(self) -> Decimal:
        return sum((change.after for change in self.changes), Decimal(0))

    @property
    def by(self) -> Decimal:
        """What all of them together rise; negative where they fall."""
        return self.after - self.before

    def rises(self, most: int = 3) -> tuple[Change, ...]:
        """The walk-ins that get dearer, the biggest rise first."""
        return tuple(sorted((c for c in self.changes if c.by > 0), key=lambda c: -c.by)[:most])

    def falls(self, most: int = 3) -> tuple[Change, ...]:
        """The walk-ins that get cheaper, the biggest fall first."""
        return tuple(sorted((c for c in self.changes if c.by < 0), key=lambda c: c.by)[:most])

    @property
    def appearing(self) -> Counter[str]:
        """Job → in how many quotes it would stand that do not have it."""
        return Counter(job for change in self.changes for job in change.appear)

    @property
    def vanishing(self) -> Counter[str]:
        """Job → from how many quotes it would be gone."""
        return Counter(job for change in self.changes for job in change.vanish)


def effect(old: Book, new: Book, walkins: Mapping[str, Walkin], today: date) -> Effect:
    """Quote every walk-in (by its name or number) with both books, on the same day and an empty bench.

    Totals are those of “put right”. If the currency changes, they are compared as bare numbers.
    """
    changes: list[Change] = []
    failed: dict[str, str] = {}
    broken: list[str] = []
    refused: dict[str, Mapping[str, str]] = {}
    for name, walkin in walkins.items():
        before, after = (_quoted(book, walkin, today) for book in (old, new))
        if isinstance(before, str):
            failed[name] = before
        elif isinstance(after, str):
            failed[name] = after
            broken.append(name)
        else:
            changes.append(_change(name, before, after))
            problems = after.assessment.problems.items() - before.assessment.problems.items()
            if problems:
                refused[name] = dict(sorted(problems))
    return Effect(new.shop.currency, tuple(changes), failed, refused, tuple(broken))


def _quoted(book: Book, walkin: Walkin, today: date) -> Quote | str:
    """The quote, or why there is none."""
    try:
        return make_quote(book, walkin, today)
    except (TableError, NeverOpenError) as error:
        return str(error)
    except ArithmeticError:
        return "Its hours or its sums grow beyond all bounds."


def _change(name: str, before: Quote, after: Quote, tier: Tier = "put_right") -> Change:
    had, has = ([job.id for job in quote.jobs] for quote in (before, after))
    return Change(
        walkin=name,
        before=before.offers[tier].total,
        after=after.offers[tier].total,
        appear=tuple(job for job in has if job not in had),
        vanish=tuple(job for job in had if job not in has),
    )
