"""The neck from the side, today and after the work, from this instrument's numbers.

Heights are measured from the chord through the tops of the first fret and the fret at the body join;
relief is a parabola between them, strings are straight. Lengths are in inches, positions from the nut.
"""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from markupsafe import Markup

from intake.paper.drawings import svg
from intake.paper.formats import Formats
from intake.trade.frets import fret_position
from intake.trade.neck import relief_at as neck_bow

Facts = Mapping[str, Any]

WIDTH = 680
PANEL = 112
PLANE = 62
NUT_X = 34
SADDLE_X = 606
BOARD = 9
HEADROOM = 44
EXAGGERATIONS = (12, 10, 8, 6, 5, 4, 3, 2)
# Used where the counter took no nut height: common practice, no source. The caption says so.
ASSUMED_NUT = Fraction(1, 50)


@dataclass(frozen=True)
class Neck:
    """What does not change: scale, compensation, fret at the body join, number of frets, crown height."""

    scale: float
    compensation: float
    join: int
    frets: int
    crown: float

    def fret(self, number: int) -> float:
        """Distance of a fret from the nut, equal-tempered."""
        return float(fret_position(self.scale, number))

    @property
    def saddle(self) -> float:
        """Distance of the saddle's contact from the nut."""
        return self.scale + self.compensation


@dataclass(frozen=True)
class Heights:
    """One state: relief, actions at the 12th, heights at the first fret, saddle showing (or None)."""

    relief: Fraction
    bass: Fraction
    treble: Fraction
    nut_bass: Fraction
    nut_treble: Fraction
    showing: Fraction | None


def neck_from(facts: Facts) -> Neck:
    """Lengths as measured, else the book's defaults, else those of a common flat top."""
    return Neck(
        float(_first(facts, "scale_length", "default_scale_length") or Fraction(254, 10)),
        float(_first(facts, "default_compensation") or Fraction(1, 10)),
        int(_first(facts, "join_fret", "default_join_fret") or 14),
        int(_first(facts, "fret_count") or 20),
        float(_first(facts, "crown_height") or Fraction(4, 100)),
    )


def today_from(facts: Facts) -> Heights | None:
    """The measured heights; None without an action to draw."""
    bass, treble = facts.get("action_bass_12"), facts.get("action_treble_12")
    bass, treble = (treble if bass is None else bass), (bass if treble is None else treble)
    if bass is None or treble is None:
        return None
    return Heights(
        facts.get("relief", Fraction(0)),
        bass,
        treble,
        facts.get("nut_bass_1", ASSUMED_NUT),
        facts.get("nut_treble_1", facts.get("nut_bass_1", ASSUMED_NUT)),
        facts.get("saddle_showing"),
    )


def after_from(today: Heights, outcome: Mapping[str, Fraction]) -> Heights:
    """Today's heights with those that the work changes."""
    return Heights(
        outcome.get("relief", today.relief),
        outcome.get("action_bass_12", today.bass),
        outcome.get("action_treble_12", today.treble),
        outcome.get("nut_bass_1", today.nut_bass),
        outcome.get("nut_treble_1", today.nut_treble),
        outcome.get("saddle_showing", today.showing),
    )


def relief_at(neck: Neck, relief: float, x: float) -> float:
    """How far the fret tops lie under the chord at `x`: `relief` midway, nothing outside the chord."""
    return float(neck_bow(x, relief, neck.fret(1), neck.fret(neck.join)))


def string_height(neck: Neck, heights: Heights, x: float, bass: bool = True) -> float:
    """Height of an outer string's underside over the chord at `x` (similar triangles, derived)."""
    action, nut = (heights.bass, heights.nut_bass) if bass else (heights.treble, heights.nut_treble)
    first, twelfth = neck.fret(1), neck.fret(12)
    at_twelfth = float(action) - relief_at(neck, float(heights.relief), twelfth)
    slope = (at_twelfth - float(nut)) / (twelfth - first)
    return float(nut) + slope * (x - first)


def saddle_height(neck: Neck, heights: Heights) -> float:
    """Height of the saddle's top over the chord: that of its higher string."""
    return max(string_height(neck, heights, neck.saddle, bass) for bass in (True, False))


def exaggeration(neck: Neck, states: list[Heights]) -> int:
    """By how much heights may be drawn larger than lengths so that the highest saddle fits."""
    unit = (SADDLE_X - NUT_X) / neck.saddle
    highest = max(saddle_height(neck, state) for state in states)
    return next((e for e in EXAGGERATIONS if highest * unit * e <= HEADROOM), 1)


def neck_drawing(
    facts: Facts, formats: Formats, outcome: Mapping[str, Fraction], metric: Container[str] = ()
) -> Markup:
    """One panel for today, and one for what the work brings about. Empty without a measured action.

    `outcome`: what the offer's jobs change (`intake.quoting.outcome`). `metric` holds the ids of the facts
    to be written in millimetres.
    """
    _ = formats.gettext
    today = today_from(facts)
    if today is None:
        return Markup("")
    neck, after = neck_from(facts), after_from(today, outcome)
    states = [today, after] if after != today else [today]
    larger = exaggeration(neck, states)
    panels = [_Panel(neck, formats, metric, larger, 0).draw(today, _("Today"), svg.WORK)]
    if len(states) == 2:
        panel = _Panel(neck, formats, metric, larger, PANEL)
        panels.append(panel.draw(after, _("After the work: what we aim for"), svg.FINE, ghost=today))
    note = _("Heights are drawn {times} times larger than lengths.", times=larger)
    if "nut_bass_1" not in facts:
        note += " " + _("Height at the first fret assumed.")
    height = PANEL * len(states) + 10
    title = _("The neck from the side, computed from this instrument’s measures")
    return svg.drawing(
        WIDTH, height, title,
        [*panels, svg.label(WIDTH - 8, height - 2, note, font_size=10, text_anchor="end")],
    )  # fmt: skip


@dataclass(frozen=True)
class _Panel:
    """One state drawn with its fret plane `PLANE` below `top`."""

    neck: Neck
    formats: Formats
    metric: Container[str]
    larger: int
    top: int

    def x(self, position: float) -> float:
        return NUT_X + position * (SADDLE_X - NUT_X) / self.neck.saddle

    def y(self, height: float) -> float:
        return self.top + PLANE - height * self.larger * (SADDLE_X - NUT_X) / self.neck.saddle

    def draw(self, state: Heights, title: str, colour: str, ghost: Heights | None = None) -> Markup:
        parts = [
            svg.label(0, self.top + 13, title, font_size=13, font_weight=600, fill=svg.INK),
            *self._body(state),
            *self._board(state),
            *([self._string(ghost, True, stroke=svg.RULE, stroke_dasharray="2 3")] if ghost else []),
            self._string(state, True, stroke=colour, stroke_width=2, class_="string bass"),
            self._string(state, False, stroke=colour, stroke_width=1, class_="string treble"),
            *self._action(state, colour),
            *self._words(state, ghost),
        ]
        return svg.element("g", *parts)

    def _string(self, state: Heights, bass: bool, **attributes: Any) -> Markup:
        nut = string_height(self.neck, state, 0, bass)
        end = string_height(self.neck, state, self.neck.saddle, bass)
        return svg.line(self.x(0), self.y(nut), self.x(self.neck.saddle), self.y(end), **attributes)

    def _board(self, state: Heights) -> list[Markup]:
        relief, last = float(state.relief), self.neck.fret(self.neck.frets)
        steps = [last * i / 40 for i in range(41)]
        wood = [(self.x(x), self.y(-relief_at(self.neck, relief, x) - self.neck.crown)) for x in steps]
        under = [(x, y + BOARD) for x, y in reversed(wood)]
        board = svg.path([*wood, *under], closed=True, fill=svg.INK, class_="board")
        nut = string_height(self.neck, state, 0)
        nut_block = svg.rect(self.x(0) - 6, self.y(nut), 6, wood[0][1] + BOARD - self.y(nut), fill=svg.RULE)
        return [board, *(self._fret(n, relief) for n in range(1, self.neck.frets + 1)), nut_block]

    def _fret(self, number: int, relief: float) -> Markup:
        place = self.neck.fret(number)
        x, dip = self.x(place), relief_at(self.neck, relief, place)
        colour = svg.INK if number == 12 else svg.RULE
        return svg.line(
            x, self.y(-dip), x, self.y(-dip - self.neck.crown),
            stroke=colour, stroke_width=2.4, class_="fret",
        )  # fmt: skip

    def _body(self, state: Heights) -> list[Markup]:
        left, deck = self.x(self.neck.fret(self.neck.join)), self.y(-self.neck.crown) + BOARD
        saddle, top = self.x(self.neck.saddle), saddle_height(self.neck, state)
        showing = float(state.showing) if state.showing is not None else max(top, 0) * 0.3
        block = min(self.y(top - showing), deck - 2)
        plane = svg.line(left, self.y(0), saddle + 20, self.y(0), stroke=svg.RULE, stroke_dasharray="6 3")
        return [
            svg.rect(left, deck, WIDTH - 10 - left, 7, fill=svg.WOOD, stroke=svg.SOFT, stroke_width=0.8),
            svg.rect(saddle - 18, block, 46, deck - block, fill="#6B6156", class_="bridge"),
            svg.rect(
                saddle - 3, self.y(top), 6, self.y(top - showing) - self.y(top),
                fill="#FFFFFF", stroke=svg.INK, stroke_width=0.9, class_="saddle",
            ),
            plane,
        ]  # fmt: skip

    def _action(self, state: Heights, colour: str) -> list[Markup]:
        place = self.neck.fret(12)
        x, fret = self.x(place), self.y(-relief_at(self.neck, float(state.relief), place))
        string = self.y(string_height(self.neck, state, place))
        ticks = [svg.line(x - 4, y, x + 4, y, stroke=colour) for y in (fret, string)]
        return [svg.line(x, fret, x, string, stroke=colour, class_="action"), *ticks]

    def _words(self, state: Heights, ghost: Heights | None) -> list[Markup]:
        _, height = self.formats.gettext, self.formats.height
        x = self.x(self.neck.fret(12))
        action = _(
            "12th fret: bass {bass}, treble {treble}",
            bass=height(state.bass, "action_bass_12" in self.metric),
            treble=height(state.treble, "action_treble_12" in self.metric),
        )
        relief = _("relief {relief}", relief=self.formats.thousandths(state.relief, "relief" in self.metric))
        middle = (self.neck.fret(1) + self.neck.fret(self.neck.join)) / 2
        words = [
            svg.label(x - 24, self.top + 13, action, fill=svg.INK),
            svg.line(x, self.top + 18, x, self.y(string_height(self.neck, state, self.neck.fret(12))) - 3,
                     stroke=svg.RULE, stroke_dasharray="1 2"),
            svg.label(self.x(middle), self.top + PLANE + 39, relief, text_anchor="middle", fill=svg.INK),
        ]  # fmt: skip
        if state.showing is not None:
            shows = _("saddle shows {height}", height=height(state.showing, "saddle_showing" in self.metric))
            words.append(svg.label(WIDTH - 8, self.top + PLANE + 39, shows, text_anchor="end", fill=svg.INK))
        if ghost:
            words.append(svg.label(NUT_X, self.top + PLANE + 39, _("dotted: today"), font_size=10))
        return words


def _first(facts: Facts, *ids: str) -> Any:
    return next((facts[id_] for id_ in ids if facts.get(id_) is not None), None)
