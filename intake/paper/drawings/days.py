"""The plan by day: each job a row, work as solid bars, waits as hatched ones, closed days shaded."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime, time, timedelta

from markupsafe import Markup

from intake.paper.drawings import svg
from intake.paper.formats import Formats
from intake.quoting.model import Stretch

WIDTH = 680
LEFT = 182
RIGHT = 676
HEAD = 20
ROW = 15
LEAST = 2.5
MOST_NAME = 33
A_PAGE = 38
DAY = timedelta(days=1)
# Room for the words "Wed 2": with more days, only some of them are named.
DAY_WORDS = 34


def days_drawings(
    schedule: Sequence[Stretch],
    names: Mapping[str, str],
    is_open: Callable[[date], bool],
    formats: Formats,
) -> list[Markup]:
    """Drawings of at most `A_PAGE` rows on one axis; none without a schedule.

    `names`: job → its number and name, in bench order; jobs without a stretch get no row.
    """
    rows = [id_ for id_ in names if any(stretch.job == id_ for stretch in schedule)]
    if not rows:
        return []
    axis = _Axis.around(schedule)
    parts = [rows[i : i + A_PAGE] for i in range(0, len(rows), A_PAGE)]
    return [_drawing(part, schedule, names, is_open, axis, formats) for part in parts]


class _Axis:
    """Whole days from the first stretch to the last, across the width."""

    def __init__(self, first: date, last: date) -> None:
        self.days = [first + n * DAY for n in range((last - first).days + 1)]
        self.start = datetime.combine(first, time())
        self.wide = (RIGHT - LEFT) / len(self.days)

    @classmethod
    def around(cls, schedule: Sequence[Stretch]) -> _Axis:
        return cls(min(s.start for s in schedule).date(), max(s.end for s in schedule).date())

    def x(self, moment: datetime) -> float:
        return LEFT + (moment - self.start) / DAY * self.wide

    @property
    def every(self) -> int:
        """One day in how many is named."""
        return next(n for n in (1, 2, 7, 14, 28, 91, 365, 3650) if n * self.wide >= DAY_WORDS)


def _drawing(
    rows: Sequence[str],
    schedule: Sequence[Stretch],
    names: Mapping[str, str],
    is_open: Callable[[date], bool],
    axis: _Axis,
    formats: Formats,
) -> Markup:
    _ = formats.gettext
    height = HEAD + ROW * len(rows)
    shapes = [*_days(axis, height, is_open, formats)]
    for i, id_ in enumerate(rows):
        top = HEAD + ROW * i
        shapes.append(svg.label(0, top + 11, _short(names[id_]), font_size=10, fill=svg.INK))
        for stretch in schedule:
            if stretch.job == id_:
                shapes += _bar(stretch, axis, top)
    words = _("Dark: work at the bench. Striped: a wait. Grey: the shop is closed.")
    shapes.append(svg.label(LEFT, height + 14, words, font_size=10))
    title = _(
        "Plan by day, from {first} to {last}",
        first=formats.day(axis.days[0]),
        last=formats.day(axis.days[-1]),
    )
    return svg.drawing(WIDTH, height + 20, title, shapes)


def _days(axis: _Axis, height: float, is_open: Callable[[date], bool], formats: Formats) -> list[Markup]:
    shapes = []
    for n, day in enumerate(axis.days):
        x = LEFT + n * axis.wide
        if not is_open(day):
            shapes.append(
                svg.rect(x, HEAD - 3, axis.wide, height - HEAD + 3, fill="#E4E0D6", class_="closed")
            )
        if n % axis.every == 0:
            words = formats.short_day(day) if axis.every > 1 else formats.weekday_number(day)
            shapes.append(svg.label(x + 2, HEAD - 8, words, font_size=9.5, fill=svg.INK))
            shapes.append(svg.line(x, HEAD - 3, x, height, stroke=svg.RULE, stroke_width=0.5))
    return shapes


def _bar(stretch: Stretch, axis: _Axis, top: float) -> list[Markup]:
    x, end = axis.x(stretch.start), axis.x(stretch.end)
    wide = max(end - x, LEAST)
    if stretch.kind == "work":
        return [svg.rect(x, top + 3, wide, ROW - 5, fill=svg.INK, class_="work")]
    frame = svg.rect(
        x, top + 5, wide, ROW - 9, fill="#FFFFFF", stroke=svg.INK, stroke_width=0.7, class_="wait"
    )
    stripes = [
        svg.line(at, top + ROW - 4, min(at + 3, end), top + 5, stroke=svg.INK, stroke_width=0.6)
        for at in (x + 4.0 * n for n in range(1, int(wide / 4)))
    ]
    return [frame, *stripes]


def _short(name: str) -> str:
    return name if len(name) <= MOST_NAME else name[: MOST_NAME - 1].rstrip() + "…"
