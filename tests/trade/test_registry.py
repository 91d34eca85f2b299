"""The registry: dependency order, missing inputs, refusals, rounding."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.trade import registry
from intake.trade.errors import TradeError
from intake.trade.registry import REGISTRY, compute_readings, in_order, reading, settle


@pytest.fixture
def own(monkeypatch: pytest.MonkeyPatch) -> Iterator[dict]:
    """An empty registry for the length of a test."""
    empty: dict = {}
    monkeypatch.setattr(registry, "REGISTRY", empty)
    yield empty


VOCABULARY = {
    "action_target_bass", "action_target_treble", "relief_target", "nut_target_bass", "nut_target_treble",
    "saddle_drop_bass", "saddle_drop_treble", "saddle_left", "straightedge_expected", "neck_angle_deficit",
    "heel_wedge", "crown_left_by_fret", "crown_left", "frets_below_limit", "buzz_margin", "buzz_margin_at",
    "string_tension", "tension_total", "break_angle_saddle", "break_angle_nut", "downforce_saddle",
    "wood_moisture", "moisture_change", "top_movement", "top_taper", "vibrating_width", "back_rise",
    "compensation_change",
}  # fmt: skip


def test_the_shared_vocabulary_is_registered() -> None:
    assert set(REGISTRY) >= VOCABULARY


def plain(id: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Registers a reading in inches to a hundredth."""
    return reading(id, unit="in", resolution="0.01", source="a test")


def test_a_reading_may_stand_before_what_it_takes(own: dict) -> None:
    @plain("second")
    def _second(first: Fraction) -> Fraction:
        return first * 2

    @plain("first")
    def _first(answer: Fraction) -> Fraction:
        return answer + 1

    readings = compute_readings({"answer": Fraction(1)})
    assert {id: item.value for id, item in readings.items()} == {"first": 2, "second": 4}


def test_a_missing_input_leaves_out_all_that_hangs_on_it(own: dict) -> None:
    @plain("first")
    def _first(answer: Fraction) -> Fraction:
        return answer

    @plain("second")
    def _second(first: Fraction) -> Fraction:
        return first

    @plain("third")
    def _third(second: Fraction | None = None) -> Fraction:
        return Fraction(7) if second is None else second

    assert set(compute_readings({})) == {"third"}
    assert set(compute_readings({"answer": None})) == {"third"}


def test_nonsense_means_not_computed(own: dict) -> None:
    @plain("refused")
    def _refused(answer: Fraction) -> Fraction:
        raise TradeError("no")

    @plain("divided")
    def _divided(answer: Fraction) -> Fraction:
        return 1 / answer

    assert compute_readings({"answer": Fraction(0)}) == {}


def test_a_circle_is_refused_when_it_closes(own: dict) -> None:
    @plain("one")
    def _one(two: Fraction) -> Fraction:
        return two

    with pytest.raises(ValueError, match="in a circle"):

        @plain("two")
        def _two(one: Fraction) -> Fraction:
            return one

    assert set(own) == {"one"}


def test_an_id_stands_once(own: dict) -> None:
    plain("one")(lambda: Fraction(1))
    with pytest.raises(ValueError, match="twice"):
        plain("one")(lambda: Fraction(2))


def test_a_fact_never_overrides_a_reading(own: dict) -> None:
    plain("one")(lambda: Fraction(1))
    assert compute_readings({"one": Fraction(9)})["one"].value == 1


@given(st.floats(-1e6, 1e6))
def test_floats_go_half_even_to_the_resolution(value: float) -> None:
    rounded = settle(value, Fraction(1, 100))
    assert rounded.denominator <= 100
    assert abs(rounded - Fraction(value)) <= Fraction(1, 200)


def test_half_a_step_goes_to_the_even_neighbour() -> None:
    assert settle(0.125, Fraction(1, 100)) == Fraction(12, 100)
    assert settle(0.375, Fraction(1, 100)) == Fraction(38, 100)


@given(st.fractions())
def test_exact_values_are_kept(value: Fraction) -> None:
    assert settle(value, Fraction(1, 10)) == value


@pytest.mark.parametrize("value", [float("nan"), float("inf"), (1.0, float("nan")), {1: float("inf")}])
def test_no_nan_gets_out(value: object) -> None:
    with pytest.raises(TradeError):
        settle(value, Fraction(1, 10))


def test_every_reading_says_what_it_is() -> None:
    for spec in REGISTRY.values():
        assert spec.doc and spec.source and spec.resolution > 0, spec.id
        if spec.low is not None and spec.high is not None:
            assert spec.low < spec.high, spec.id


def test_order_puts_every_reading_after_its_inputs() -> None:
    order = in_order()
    assert sorted(order) == sorted(REGISTRY)
    for id in order:
        for name in (*REGISTRY[id].inputs, *REGISTRY[id].optional):
            assert name not in REGISTRY or order.index(name) < order.index(id)
