"""Strings: scaling laws, forces, what other gauges do; intonation."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.book.files.families import FAMILIES, TUNINGS, usual
from intake.trade import intonation, strings, tunings
from intake.trade.errors import TradeError

GAUGE = st.floats(0.007, 0.12)
SCALE = st.floats(12, 36)
PITCH = st.floats(30, 700)


@given(GAUGE, SCALE, PITCH, st.floats(0.5, 2))
def test_tension_goes_with_the_square_of_everything(
    gauge: float, scale: float, hertz: float, factor: float
) -> None:
    base = strings.tension(strings.plain_unit_weight(gauge), scale, hertz)
    longer = strings.tension(strings.plain_unit_weight(gauge), scale * factor, hertz)
    higher = strings.tension(strings.plain_unit_weight(gauge), scale, hertz * factor)
    thicker = strings.tension(strings.plain_unit_weight(gauge * factor), scale, hertz)
    assert longer == pytest.approx(base * factor**2)
    assert higher == pytest.approx(base * factor**2)
    assert thicker == pytest.approx(base * factor**2)


@given(GAUGE, st.floats(0.1, 0.9))
def test_a_wound_string_weighs_between_its_core_and_solid_bronze(gauge: float, share: float) -> None:
    weight = strings.wound_unit_weight(gauge, gauge * share)
    assert (
        strings.plain_unit_weight(gauge * share) < weight < strings.plain_unit_weight(gauge, strings.BRONZE)
    )


@given(GAUGE, GAUGE)
def test_a_thicker_string_is_never_guessed_lighter(one: float, other: float) -> None:
    thin, thick = sorted((one, other))
    for kind in ("plain", "wound", "wound_nickel", "nylon"):
        assert strings.estimated_unit_weight(thin, kind) <= strings.estimated_unit_weight(thick, kind)


@given(st.floats(0, 500), st.floats(0, 180), st.floats(0, 180))
def test_more_bend_never_presses_less(tension: float, one: float, other: float) -> None:
    flat, steep = sorted((one, other))
    assert strings.downforce(tension, flat) <= strings.downforce(tension, steep) <= 2 * tension


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0.1, 2))
def test_more_saddle_never_bends_the_string_less(one: float, other: float, distance: float) -> None:
    low, high = sorted((one, other))
    assert 0 <= strings.break_angle(low, distance) <= strings.break_angle(high, distance) < 90


def test_octaves_double_and_neighbours_are_a_semitone_apart() -> None:
    assert strings.pitch("A4") == 440
    assert strings.pitch("A3") == 220
    assert strings.pitch("E4", 12) == pytest.approx(2 * strings.pitch("E4"))
    assert strings.pitch("C#4") == pytest.approx(strings.pitch("Db4"))
    assert strings.pitch("B3", 1) == pytest.approx(strings.pitch("C4"))


def test_every_tuning_has_one_pitch_for_each_string() -> None:
    weighed = {row["family"] for row in usual(FAMILIES) if row["string_tension"]}

    for row in usual(TUNINGS):
        family, count = row["family"], int(row["string_count"])
        standard = tunings.pitches(family, count, "standard", usual(TUNINGS))
        lowered = tunings.pitches(family, count, "lowered", usual(TUNINGS))

        assert len(standard) == count and family in weighed
        assert all(a > b for a, b in zip(standard, lowered, strict=True))


@given(SCALE, st.floats(-50, 50))
def test_compensation_is_odd_and_goes_with_the_scale(scale: float, cents: float) -> None:
    shift = intonation.compensation_change(scale, cents)
    assert intonation.compensation_change(scale, -cents) == -shift
    assert intonation.compensation_change(2 * scale, cents) == pytest.approx(2 * shift)
    assert intonation.cents_from_compensation(scale, shift) == pytest.approx(-cents, rel=0.05, abs=1e-9)


@given(SCALE, st.floats(0, 0.2), st.floats(0, 0.2))
def test_a_higher_string_never_frets_flatter(scale: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert (
        0
        <= intonation.stretch_cents(scale, low, 0.012, 23)
        <= intonation.stretch_cents(scale, high, 0.012, 23)
    )


@pytest.mark.parametrize(
    "refused",
    [
        lambda: strings.pitch("H4"),
        lambda: strings.plain_unit_weight(0),
        lambda: strings.wound_unit_weight(0.02, 0.02),
        lambda: strings.estimated_unit_weight(0.03, "nylon_wound"),
        lambda: strings.tension(0, 25, 100),
        lambda: strings.tension(1e-4, 25, float("nan")),
        lambda: strings.break_angle(-0.1, 1),
        lambda: strings.break_angle(0.1, 0),
        lambda: strings.downforce(-1, 10),
        lambda: strings.downforce(1, 200),
        lambda: tunings.pitches("steel-string", 6, "open", usual(TUNINGS)),
        lambda: tunings.pitches("harp", 40, "standard", usual(TUNINGS)),
        lambda: intonation.compensation_change(25, 500),
        lambda: intonation.cents_from_compensation(25, 10),
        lambda: intonation.stretch_cents(25, -1, 0.01, 20),
    ],
)
def test_nonsense_is_refused(refused: object) -> None:
    with pytest.raises(TradeError):
        refused()  # type: ignore[operator]
