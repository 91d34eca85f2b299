"""Buzz: what raises a margin, what lowers it, and where it is."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.trade import buzz
from intake.trade.errors import TradeError

ACTION = st.floats(0.03, 0.2)
NUT = st.floats(0.005, 0.05)
RELIEF = st.floats(-0.01, 0.03)
SWING = st.floats(0.01, 0.08)


def board(relief: float = 0.006, **more: object) -> buzz.Board:
    return buzz.Board(25.4, 20, relief, 14, 0.1, **more)  # type: ignore[arg-type]


@given(ACTION, NUT, RELIEF, SWING, st.floats(0, 0.05))
def test_higher_strings_clear_more(
    action: float, nut: float, relief: float, swing: float, higher: float
) -> None:
    """Raised alike over nut and 12th fret, the open string gains everywhere."""
    low = buzz.tightest(board(relief), action, nut, swing)[0].margin
    high = buzz.tightest(board(relief), action + higher, nut + higher, swing)[0].margin
    assert high >= low - 1e-12


@given(ACTION, NUT, RELIEF, SWING, SWING)
def test_a_firmer_attack_never_clears_more(
    action: float, nut: float, relief: float, one: float, other: float
) -> None:
    soft, hard = sorted((one, other))
    gentle, firm = (buzz.tightest(board(relief), action, nut, swing) for swing in (soft, hard))
    assert all(firm[fret].margin <= gentle[fret].margin for fret in gentle)


@given(ACTION, NUT, RELIEF, SWING, st.integers(2, 19), st.floats(0, 0.01))
def test_a_proud_fret_never_helps_the_note_before_it(
    action: float, nut: float, relief: float, swing: float, fret: int, proud: float
) -> None:
    if fret in (11, 12):
        return
    plain = buzz.tightest(board(relief), action, nut, swing)[fret - 1].margin
    bumped = buzz.tightest(board(relief, bumps={fret: proud}), action, nut, swing)[fret - 1].margin
    assert bumped <= plain + 1e-12


@given(ACTION, NUT, RELIEF)
def test_the_open_string_stands_where_it_was_measured(action: float, nut: float, relief: float) -> None:
    neck = board(relief, wear={1: 0.003, 12: 0.002})
    gaps = buzz.clearances(neck, 0, *buzz.open_string(neck, action, nut))
    assert gaps[1] == pytest.approx(nut)
    assert gaps[12] == pytest.approx(action)


@given(ACTION, NUT, RELIEF, SWING)
def test_margins_are_numbers_and_every_fret_with_one_ahead_has_one(
    action: float, nut: float, relief: float, swing: float
) -> None:
    found = buzz.tightest(board(relief), action, nut, swing)
    assert list(found) == list(range(20))
    for fret, tight in found.items():
        assert math.isfinite(tight.margin)
        assert tight.over > fret
        assert tight.margin <= tight.clearance


def test_relief_helps_the_first_frets() -> None:
    """Held at fret 1, over fret 2: the very thing that relief is for."""

    def gap(relief: float) -> float:
        neck = board(relief)
        return buzz.clearances(neck, 1, *buzz.open_string(neck, 0.09, 0.018))[2]

    assert gap(0.0) < gap(0.006) < gap(0.012)


def test_a_groove_lowers_the_note_held_in_it() -> None:
    plain = buzz.tightest(board(), 0.09, 0.018, 0.04)
    worn = buzz.tightest(board(wear={3: 0.01}), 0.09, 0.018, 0.04)
    assert worn[3].margin < plain[3].margin
    assert worn[2].margin > plain[2].margin


def test_strings_between_lie_between() -> None:
    assert buzz.across(0.1, 0.05, 6) == pytest.approx([0.05, 0.06, 0.07, 0.08, 0.09, 0.1])
    assert buzz.across(0.1, 0.05, 1) == pytest.approx([0.075])


def test_the_tightest_of_each_names_string_and_fret() -> None:
    found = buzz.tightest_of_each(board(), [0.06, 0.09], [0.002, 0.02], [0.04, 0.04])
    assert [tight.string for tight in found] == [1, 2]
    assert found[0].place == "1/0"


def test_a_slack_string_swings_further_within_bounds() -> None:
    assert buzz.swing_for("medium", 10, 20) == pytest.approx(0.04 * 1.6)
    assert buzz.swing_for("medium", 40, 20) == pytest.approx(0.04 * 0.6)
    assert buzz.swing_for("light") < buzz.swing_for("medium") < buzz.swing_for("firm")


@pytest.mark.parametrize(
    "refused",
    [
        lambda: buzz.Board(0, 20),
        lambda: buzz.Board(25.4, 1),
        lambda: buzz.Board(25.4, 20, relief=2.0),
        lambda: buzz.Board(25.4, 20, wear={1: -0.1}),
        lambda: buzz.Board(25.4, 20, relief=float("nan")),
        lambda: buzz.swing_for("furious"),
        lambda: buzz.swing_for("light", 0, 20),
        lambda: buzz.across(1, 1, 0),
        lambda: buzz.tightest_of_each(board(), [0.06], [], [0.04]),
        lambda: buzz.pluck_envelope(1, 20, 0.03, 25),
    ],
)
def test_nonsense_is_refused(refused: object) -> None:
    with pytest.raises(TradeError):
        refused()  # type: ignore[operator]


@given(ACTION, NUT, RELIEF, SWING, st.dictionaries(st.integers(1, 20), st.floats(0, 0.02), max_size=4))
def test_the_tightest_place_is_the_least_of_the_profile(
    action: float, nut: float, relief: float, swing: float, wear: dict[int, float]
) -> None:
    worn = board(relief, wear=wear)
    for fret, tight in buzz.tightest(worn, action, nut, swing).items():
        margins = {over.fret: over.gap - over.reach for over in buzz.profile(worn, action, nut, swing, fret)}
        assert tight.margin == pytest.approx(min(margins.values()), abs=1e-12)
        assert margins[tight.over] == pytest.approx(tight.margin, abs=1e-12)
