"""Which backups stay."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class Rule:
    """How many days, weeks and months keep their newest backup.

    Only periods that have a backup count: a shop that was closed, or a clock that jumped, costs none.
    """

    daily: int = 7
    weekly: int = 4
    monthly: int = 12

    def kept(self, made: Iterable[datetime]) -> set[datetime]:
        """Those of `made` that stay; the newest always does."""
        newest_first = sorted(made, reverse=True)
        stays = set(newest_first[:1])
        for most, period in ((self.daily, _day), (self.weekly, _week), (self.monthly, _month)):
            stays |= _newest_of_each(newest_first, most, period)
        return stays


Period = tuple[int, ...]


def _newest_of_each(
    newest_first: list[datetime], most: int, period: Callable[[datetime], Period]
) -> set[datetime]:
    first: dict[Period, datetime] = {}
    for moment in newest_first:
        first.setdefault(period(moment), moment)
    return set(list(first.values())[: max(most, 0)])


def _day(moment: datetime) -> Period:
    return moment.year, moment.month, moment.day


def _week(moment: datetime) -> Period:
    year, week, _ = moment.isocalendar()
    return year, week


def _month(moment: datetime) -> Period:
    return moment.year, moment.month
