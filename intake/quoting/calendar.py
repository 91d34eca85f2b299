"""From bench hours and waits to days: which job is on the bench when, and the day all is ready.

Two clocks run. Bench work advances only in open hours, and there only for the productive share of
them; glue, moisture and finish wait by the wall clock, nights and closed days included. Jobs of one
stage wait together; the next stage starts when the longest of their waits is over.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from functools import lru_cache
from itertools import groupby

import holidays

from intake.book.model import Shop
from intake.quoting.model import Stretch

Span = tuple[datetime, datetime]
AT_HOME = timedelta(days=7)
_DAY = timedelta(days=1)
_HORIZON = 3660
_CLOSED = re.compile(r"\s*(?:/|\.\.|to)\s*")


@dataclass(frozen=True)
class Block:
    """One job on the bench: its hours at the 80 % figure, then its wait.

    A block with `splits` False is not divided by closing time, unless no day is long enough for it.
    """

    job: str
    stage: int
    hours: Fraction
    wait: timedelta = timedelta()
    wait_kind: str = ""
    splits: bool = True

    @property
    def at_home(self) -> bool:
        """A settling wait of a week or more: the customer has the instrument, and comes back after it."""
        return self.wait_kind == "settle" and self.wait >= AT_HOME


class NeverOpen(ValueError):
    """The shop has no open hours within ten years of the start."""


def schedule(
    blocks: Sequence[Block], shop: Shop, start: date, booked_hours: Fraction = Fraction(0)
) -> tuple[tuple[Stretch, ...], date]:
    """The blocks, given in bench order, by day; and the first open day on which nothing is left to do.

    `booked_hours` of other work come first. Visits after settling are in the stretches, but the ready
    day does not wait for them. Raises NeverOpen.
    """
    bench = Bench(shop)
    now = bench.queue_done(start, booked_hours)
    stretches: list[Stretch] = []
    for _, group in groupby((b for b in blocks if not b.at_home), key=lambda block: block.stage):
        added = _stage(list(group), bench, now)
        stretches += added
        now = max((stretch.end for stretch in added), default=now)
    ready = bench.open_day(now)
    for block in blocks:
        if block.at_home:
            stretches += _visit(block, bench, now)
    return tuple(stretches), ready


def _stage(blocks: Sequence[Block], bench: Bench, now: datetime) -> list[Stretch]:
    """Work one after the other, each wait from the end of its own work."""
    stretches = []
    for block in blocks:
        for begin, end in bench.work(now, block.hours, block.splits):
            stretches.append(Stretch(block.job, "work", begin, end))
            now = end
        if block.wait:
            stretches.append(Stretch(block.job, block.wait_kind or "wait", now, now + block.wait))
    return stretches


def _visit(block: Block, bench: Bench, now: datetime) -> list[Stretch]:
    back = now + block.wait
    work = [Stretch(block.job, "work", *span) for span in bench.work(back, block.hours, block.splits)]
    return [Stretch(block.job, block.wait_kind, now, back), *work]


class Bench:
    """The shop's open hours as a clock for bench work."""

    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        self.holidays = public_holidays(shop.region)
        self.closed = closed_days(shop.closed)

    def spans(self, day: date) -> tuple[Span, ...]:
        """When the shop is open on that day."""
        if day in self.closed or day in self.holidays:
            return ()
        hours = self.shop.open_hours.get(day.weekday(), ())
        return tuple((datetime.combine(day, opens), datetime.combine(day, closes)) for opens, closes in hours)

    def from_(self, moment: datetime) -> Iterator[Span]:
        """Open spans from that moment on, the first one cut to it. Raises NeverOpen."""
        for ahead in range(_HORIZON):
            for opens, closes in self.spans(moment.date() + ahead * _DAY):
                if closes > moment:
                    yield max(opens, moment), closes
        raise NeverOpen("The shop has no open hours; set them under [hours] in shop.toml.")

    def work(self, moment: datetime, hours: Fraction, splits: bool = True) -> list[Span]:
        """The spans in which that many bench hours get done, starting at that moment or later."""
        left = timedelta(seconds=round(hours * 3600 / self.shop.productive_share))
        if not left:
            return []
        if not splits:
            moment = self._whole(moment, left)
        worked = []
        for opens, closes in self.from_(moment):
            end = min(opens + left, closes)
            worked.append((opens, end))
            left -= end - opens
            if not left:
                return worked
        raise AssertionError("from_ ends only by raising")

    def _whole(self, moment: datetime, length: timedelta) -> datetime:
        """Where a block of that length fits undivided; where none does, the next opening of a day."""
        spans = [span for day in self.shop.open_hours.values() for span in day]
        fits = any(_length(*span) >= length for span in spans)
        for opens, closes in self.from_(moment):
            whole = closes - opens >= length if fits else opens == self.spans(opens.date())[0][0]
            if whole:
                return opens
        raise AssertionError("from_ ends only by raising")

    def queue_done(self, start: date, booked_hours: Fraction) -> datetime:
        """When the bench is free, after the work already booked."""
        morning = datetime.combine(start, time())
        worked = self.work(morning, booked_hours)
        return worked[-1][1] if worked else morning

    def open_day(self, moment: datetime) -> date:
        """The day on which something done at that moment can be fetched."""
        if any(closes == moment for _, closes in self.spans(moment.date())):
            return moment.date()
        return next(self.from_(moment))[0].date()


def _length(opens: time, closes: time) -> timedelta:
    return datetime.combine(date.min, closes) - datetime.combine(date.min, opens)


@lru_cache(maxsize=64)
def public_holidays(region: str) -> holidays.HolidayBase:
    """The public holidays of a region as `US-NY` or `FI`; none for "". Raises NotImplementedError."""
    if not region:
        return holidays.HolidayBase()
    country, _, part = region.partition("-")
    return holidays.country_holidays(country, subdiv=part or None)


@lru_cache(maxsize=64)
def closed_days(written: tuple[str, ...]) -> frozenset[date]:
    """Days from `2026-12-24` and spans from `2026-12-24/2027-01-02`, both ends closed. Raises ValueError."""
    days: set[date] = set()
    for text in written:
        ends = [date.fromisoformat(end) for end in _CLOSED.split(text.strip())]
        days.update(ends[0] + ahead * _DAY for ahead in range((ends[-1] - ends[0]).days + 1))
    return frozenset(days)
