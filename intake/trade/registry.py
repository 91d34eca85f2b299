"""Readings: numbers computed from answers, registered by name so that a table may use them."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any

from intake.trade.errors import TradeError

Value = Fraction | str | tuple[Fraction, ...] | Mapping[int, Fraction] | Mapping[str, Fraction]


@dataclass(frozen=True)
class Reading:
    """A computed number; `buzz_margin_at` alone is a place ("string/fret").

    Readings of each string are tuples, first string first; `crown_left_by_fret` maps fret → value,
    `buzz_by_string` place → value.
    """

    id: str
    value: Value
    unit: str


@dataclass(frozen=True)
class ReadingSpec:
    """How a reading is made. `low` and `high` bound what it plausibly is, for the book's checker."""

    id: str
    unit: str
    resolution: Fraction
    low: Fraction | None
    high: Fraction | None
    inputs: tuple[str, ...]
    optional: tuple[str, ...]
    doc: str
    source: str
    function: Callable[..., Any]


REGISTRY: dict[str, ReadingSpec] = {}
TAKEN_IN: dict[str, str] = {
    "scale_length": "in", "board_radius": "in", "gauges": "in", "relief": "in",
    "straightedge_at_bridge": "in",
    "body_hump": "in", "heel_depth": "in", "action_bass_12": "in", "action_treble_12": "in",
    "nut_bass_1": "in", "nut_treble_1": "in", "saddle_showing": "in", "saddle_to_pins": "in",
    "crown_height": "in", "fret_wear": "in", "top_at_bridge": "in", "top_at_edge": "in", "lining_width": "in",
    "lower_bout_width": "in", "top_map": "in", "default_compensation": "in", "default_spread": "in",
    "default_board_width": "in", "default_bridge_width": "in", "relief_without_rod": "in",
    "swing_light": "in", "swing_medium": "in", "swing_firm": "in", "worn_from": "in", "spot_depth": "in",
    "straightedge_allowance": "in",
    "very_dry_under": "%", "dry_under": "%", "damp_over": "%", "wet_over": "%", "rh_a_day": "%",
    "plain_up_to": "in", "wish_room": "in",
    "saddle_doubt": "in", "back_radius": "ft", "room_temp": "F", "shop_temp": "F", "room_rh": "%",
    "shop_rh": "%", "head_angle": "deg", "intonation_cents": "cents",
}  # fmt: skip
"""The unit in which readings take what is not a reading; nothing converts on the way."""


def reading(
    id: str,
    *,
    unit: str,
    resolution: str,
    source: str,
    low: str | None = None,
    high: str | None = None,
) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Register a function whose parameter names are its inputs; a default of None makes one optional.

    Raises ValueError for an id that stands already and for a reading that would need itself.
    """

    def register(function: Callable[..., Any]) -> Callable[..., Any]:
        if id in REGISTRY:
            raise ValueError(f"reading {id} is registered twice")
        parameters = inspect.signature(function).parameters.values()
        spec = ReadingSpec(
            id=id,
            unit=unit,
            resolution=Fraction(resolution),
            low=None if low is None else Fraction(low),
            high=None if high is None else Fraction(high),
            inputs=tuple(p.name for p in parameters if p.default is p.empty),
            optional=tuple(p.name for p in parameters if p.default is not p.empty),
            doc=inspect.getdoc(function) or "",
            source=source,
            function=function,
        )
        REGISTRY[id] = spec
        _ordered.cache_clear()
        try:
            _visit(id, [], [])
        except ValueError:
            del REGISTRY[id]
            raise
        return function

    return register


def inputs() -> frozenset[str]:
    """What readings take that is no reading itself."""
    taken = {name for spec in REGISTRY.values() for name in (*spec.inputs, *spec.optional)}
    return frozenset(taken - REGISTRY.keys())


def in_order(ids: Mapping[str, ReadingSpec] | None = None) -> list[str]:
    """Every registered id, each after the readings it takes."""
    return list(_ordered(tuple(REGISTRY if ids is None else ids)))


@lru_cache(maxsize=8)
def _ordered(ids: tuple[str, ...]) -> tuple[str, ...]:
    done: list[str] = []
    for id in ids:
        _visit(id, [], done)
    return tuple(done)


def _visit(id: str, path: list[str], done: list[str]) -> None:
    if id in path:
        raise ValueError(f"readings in a circle: {' → '.join([*path[path.index(id) :], id])}")
    if id in done:
        return
    spec = REGISTRY[id]
    for name in (*spec.inputs, *spec.optional):
        if name in REGISTRY:
            _visit(name, [*path, id], done)
    done.append(id)


def compute_readings(facts: Mapping[str, Any]) -> dict[str, Reading]:
    """Every reading that these facts allow, in dependency order.

    A reading with a missing input, or whose inputs make no sense together, is left out.
    """
    known = {name: value for name, value in facts.items() if name not in REGISTRY}
    readings: dict[str, Reading] = {}
    for id in in_order():
        value = _compute(REGISTRY[id], known)
        if value is not None:
            known[id] = value
            readings[id] = Reading(id, value, REGISTRY[id].unit)
    return readings


def _compute(spec: ReadingSpec, known: Mapping[str, Any]) -> Value | None:
    if any(known.get(name) is None for name in spec.inputs):
        return None
    given = {name: known[name] for name in (*spec.inputs, *spec.optional) if known.get(name) is not None}
    try:
        return settle(spec.function(**given), spec.resolution)
    except (TradeError, ArithmeticError):
        return None


def settle(value: Any, resolution: Fraction) -> Any:
    """Exact values kept, floats rounded half-even to the resolution, one by one in tuples and maps.

    Raises TradeError for a float that is no number.
    """
    if value is None or isinstance(value, str | Fraction):
        return value
    if isinstance(value, int):
        return Fraction(value)
    if isinstance(value, float):
        if value != value or value in (float("inf"), float("-inf")):
            raise TradeError("the result is no finite number")
        return round(Fraction(value) / resolution) * resolution
    if isinstance(value, Mapping):
        return {key: settle(item, resolution) for key, item in value.items()}
    return tuple(settle(item, resolution) for item in value)
