"""What the heights come to once an offer's jobs are done: only what one of its jobs sets."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from fractions import Fraction
from typing import Any

from intake.quoting.model import Offer, PlannedJob

Facts = Mapping[str, Any]
RELIEF = {"rod-adjust", "rod-free", "rod-replace", "neck-straighten", "refret-compression"}
ANGLE = {"neck-reset", "neck-reset-bolted"}
SADDLE = {"saddle-lower", "saddle-make", "saddle-shim"}
BRIDGE = {"floating-bridge-fit", "floating-bridge-make", "banjo-bridge-set", "slide-setup", "neck-shim"}
NUT = {"nut-slots-lower", "nut-slot-fill", "nut-shim", "nut-make", "slide-setup"}
SIDES = ("bass", "treble")


def standing(offer: Offer) -> set[str]:
    """The offer's jobs, and those done within them."""
    return {*offer.jobs, *(inner for inside in offer.includes.values() for inner in inside)}


def outcome(facts: Facts, offer: Offer, jobs: Collection[PlannedJob]) -> dict[str, Fraction]:
    """Measured fact → its value after the work, for those that the offer's jobs change.

    Nothing where a job that sets a height hangs on a measurement still to be repeated.
    """
    done = standing(offer)
    setting = done & {*RELIEF, *ANGLE, *SADDLE, *BRIDGE, *NUT, "setup"}
    if any(job.forecast and {job.id, *job.includes} & setting for job in jobs if job.id in offer.jobs):
        return {}
    found = _relief(facts, done)
    found |= _heights(facts, done, bool(found))
    found |= _nut(facts, done)
    return {id: value for id, value in found.items() if value != facts.get(id)}


def _relief(facts: Facts, done: set[str]) -> dict[str, Fraction]:
    return {"relief": facts["relief_target"]} if done & RELIEF and facts.get("relief_over") else {}


def _heights(facts: Facts, done: set[str], straightened: bool) -> dict[str, Fraction]:
    """Action on both sides and what shows of the saddle, after rod, saddle, bridge or reset."""
    found: dict[str, Fraction] = {}
    drops = []
    for side in SIDES:
        now, low, high = (facts.get(f"action_{side}_{end}") for end in ("12", "low", "high"))
        if now is None or low is None or high is None:
            continue
        height = facts.get(f"action_{side}_after", now) if straightened else now
        drop = _drop(facts, done, height, low, high)
        drops.append(drop)
        found[f"action_{side}_12"] = height - drop / _ratio(facts)
    showing = facts.get("saddle_showing")
    if showing is not None and drops and done & {*ANGLE, *SADDLE}:
        found["saddle_showing"] = (
            facts.get("saddle_wanted", showing) if done & ANGLE else showing - _larger(drops)
        )
    return found


def _ratio(facts: Facts) -> Fraction:
    return Fraction(facts.get("saddle_ratio") or 2)


def _drop(facts: Facts, done: set[str], height: Fraction, low: Fraction, high: Fraction) -> Fraction:
    """What the string comes down at the saddle: to the middle of its range, or as far as the saddle goes."""
    sets = done & {*ANGLE, *SADDLE, *BRIDGE} or ("setup" in done and facts.get("saddle_least") is None)
    if not sets or low <= height <= high:
        return Fraction(0)
    drop = (height - (low + high) / 2) * _ratio(facts)
    showing, least = facts.get("saddle_showing"), facts.get("saddle_least")
    if done & ANGLE or showing is None or least is None:
        return drop
    return min(drop, max(showing - least, Fraction(0)))


def _larger(drops: list[Fraction]) -> Fraction:
    """The saddle stands as the side asks that moves it most; one that rises counts where none comes down."""
    return max(drops) if max(drops) > 0 else min(drops)


def _nut(facts: Facts, done: set[str]) -> dict[str, Fraction]:
    found = {}
    for side in SIDES:
        over, target = facts.get(f"nut_{side}_over"), facts.get(f"nut_target_{side}")
        if over and target is not None and done & NUT:
            found[f"nut_{side}_1"] = target
    return found
