"""The shop's open hours as a clock for bench work: weekly hours, closed days, public holidays, bookings.

Bench work advances only in open hours, and there only for the productive share of them. Work already
promised to others comes first on each day.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from functools import lru_cache

import holidays

from intake.book.model import Shop
from intake.quoting.model import Booking

Span = tuple[datetime, datetime]
Spans = tuple[Span, ...]
DAY = timedelta(days=1)
NONE = timedelta()
_HORIZON = 3660
_CLOSED = re.compile(r"\s*(?:/|\.\.|to)\s*")


class NeverOpenError(ValueError):
    """The shop has no open hours within ten years of the start."""


class Bench:
    """The shop's open hours, and what the bookings leave of them. `start`: the day undated ones come up."""

    def __init__(self, shop: Shop, start: date = date.min, booked: Iterable[Booking] = ()) -> None:
        self.shop = shop
        self.holidays = public_holidays(shop.region)
        self.closed = closed_days(shop.closed)
        self._spans: dict[date, Spans] = {}
        self._free: dict[date, Spans] = {}
        self._taken = self._booked_days(start, booked)
        self._first: dict[date, datetime] = {}

    def spans(self, day: date) -> Spans:
        """When the shop is open on that day."""
        if day not in self._spans:
            self._spans[day] = self._open(day)
        return self._spans[day]

    def _open(self, day: date) -> Spans:
        if day in self.closed or day in self.holidays:
            return ()
        hours = self.shop.open_hours.get(day.weekday(), ())
        return tuple((datetime.combine(day, opens), datetime.combine(day, closes)) for opens, closes in hours)

    def free(self, day: date) -> Spans:
        """What the bookings leave of the day: its later part."""
        if day not in self._free:
            self._free[day] = _without_first(self.spans(day), self._taken.get(day, NONE))
        return self._free[day]

    def length(self, hours: Fraction) -> timedelta:
        """The open time that so many bench hours take, to the second."""
        return timedelta(seconds=round(hours * 3600 / self.shop.productive_share))

    def hours(self, length: timedelta) -> Fraction:
        """The bench hours in so much open time."""
        return Fraction(length // timedelta(seconds=1), 3600) * self.shop.productive_share

    def first_free(self, start: date) -> datetime:
        """The first moment from that day on at which the bench has time. Raises NeverOpen."""
        if start not in self._first:
            self._first[start] = next(_from(datetime.combine(start, time()), self.free))[0]
        return self._first[start]

    def open_day(self, moment: datetime) -> date:
        """The day on which something done at that moment can be fetched. Raises NeverOpen."""
        if any(closes == moment for _, closes in self.spans(moment.date())):
            return moment.date()
        return next(_from(moment, self.spans))[0].date()

    def open_time(self, start: datetime, end: datetime) -> timedelta:
        """The bench's free time between two moments."""
        total = NONE
        for ahead in range((end.date() - start.date()).days + 1):
            for opens, closes in self.free(start.date() + ahead * DAY):
                total += max(min(closes, end) - max(opens, start), NONE)
        return total

    def latest_start(self, end: datetime, length: timedelta, whole: bool) -> datetime:
        """When work of that length must start to be done by a moment; `whole`: without a break.

        Raises NeverOpen.
        """
        if not length:
            return end
        for opens, closes in _back(end, self.free):
            if closes - opens >= length:
                return closes - length
            length -= NONE if whole else closes - opens
        raise AssertionError("_back ends only by raising")

    def _booked_days(self, start: date, booked: Iterable[Booking]) -> dict[date, timedelta]:
        """Day → open time that bookings take of it, each from its own day on, one after the other."""
        waiting = sorted(
            ((one.not_before or start, self.length(one.hours)) for one in booked if one.hours > 0),
            reverse=True,
        )
        taken: dict[date, timedelta] = {}
        left, day, last = NONE, start, max(waiting, default=(start, NONE))[0] + _HORIZON * DAY
        while waiting or left:
            day = day if left else waiting[-1][0]
            while waiting and waiting[-1][0] <= day:
                left += waiting.pop()[1]
            taken[day] = min(sum((closes - opens for opens, closes in self.spans(day)), NONE), left)
            left -= taken[day]
            day += DAY
            if day > last:
                raise NeverOpenError("The bookings fill more than ten years of open hours.")
        return taken


class Slots:
    """The bench's free time as one ticket fills it."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.longest = max((_length(*span) for day in bench.shop.open_hours.values() for span in day),
                           default=NONE)  # fmt: skip
        self._mine: dict[date, list[Span]] = {}

    def free(self, day: date) -> Spans:
        spans = self.bench.free(day)
        for taken in self._mine.get(day, ()):
            spans = _without(spans, taken)
        return spans

    def work(self, moment: datetime, length: timedelta, splits: bool = True) -> tuple[Span, ...]:
        """Take the first free time from that moment on; what does not split is moved to where it fits.

        Longer than any day, it starts with an opening and is split after all. Work of no length stands
        where it would start. Raises NeverOpen.
        """
        if not length:
            return ((moment, moment),)
        if not splits:
            moment = self._whole(moment, length)
        worked = []
        for opens, closes in _from(moment, self.free):
            end = min(opens + length, closes)
            worked.append((opens, end))
            length -= end - opens
            if not length:
                break
        for span in worked:
            self._mine.setdefault(span[0].date(), []).append(span)
        return tuple(worked)

    def _whole(self, moment: datetime, length: timedelta) -> datetime:
        fits = length <= self.longest
        for opens, closes in _from(moment, self.free):
            whole = closes - opens >= length if fits else opens == self.bench.spans(opens.date())[0][0]
            if whole:
                return opens
        raise AssertionError("_from ends only by raising")


def _from(moment: datetime, spans: Callable[[date], Spans]) -> Iterator[Span]:
    """Spans from that moment on, the first one cut to it. Raises NeverOpen."""
    day = moment.date()
    for _ in range(_HORIZON):
        for opens, closes in spans(day):
            if closes > moment:
                yield max(opens, moment), closes
        day += DAY
    raise NeverOpenError("The shop has no open hours; set them under [hours] in shop.toml.")


def _back(moment: datetime, spans: Callable[[date], Spans]) -> Iterator[Span]:
    """Spans before that moment, latest first, the first one cut to it. Raises NeverOpen."""
    day = moment.date()
    for _ in range(_HORIZON):
        for opens, closes in reversed(spans(day)):
            if opens < moment:
                yield opens, min(closes, moment)
        day -= DAY
    raise NeverOpenError("The shop has no open hours; set them under [hours] in shop.toml.")


def _without(spans: Spans, taken: Span) -> Spans:
    begin, end = taken
    pieces = (
        piece for opens, closes in spans for piece in ((opens, min(closes, begin)), (max(opens, end), closes))
    )
    return tuple(piece for piece in pieces if piece[0] < piece[1])


def _without_first(spans: Spans, taken: timedelta) -> Spans:
    """What is left of the spans when their first so many hours are taken."""
    left = []
    for opens, closes in spans:
        used = min(taken, closes - opens)
        taken -= used
        if opens + used < closes:
            left.append((opens + used, closes))
    return tuple(left)


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
        days.update(ends[0] + ahead * DAY for ahead in range((ends[-1] - ends[0]).days + 1))
    return frozenset(days)
