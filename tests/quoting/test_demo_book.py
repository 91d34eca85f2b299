"""Whatever the counter takes down, the demo book gives a quote that a repairer could stand by."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import intake.trade.readings  # noqa: F401
from intake.book.answers import is_asked, read_answers
from intake.book.load import load_book
from intake.book.model import TIERS, Question
from intake.quoting.model import Quote, Walkin
from intake.quoting.quote import make_quote

BOOK = load_book(Path(__file__).parents[2] / "pricing_demo")
DAY = date(2026, 11, 24)
GEOMETRY = {
    "saddle-lower", "saddle-shim", "neck-reset", "neck-reset-bolted", "rod-adjust", "fret-level-crown",
    "fret-spot-level", "refret-partial", "refret-compression", "top-flatten",
}  # fmt: skip
UNSETTLED = ("dry_body", "wet_body")
RESET = {"neck-reset", "neck-reset-bolted"}


def written(question: Question) -> st.SearchStrategy:
    """An answer as people write it, from the row of values or the choices that the question offers."""
    ids = [choice.id for choice in question.values]
    match question.kind:
        case "one" | "number" | "measure" if ids:
            return st.sampled_from(ids)
        case "several":
            return st.lists(st.sampled_from(ids), min_size=1, max_size=2, unique=True).map(_alone)
        case "yes_no":
            return st.booleans()
        case "fret_depths":
            return st.dictionaries(st.integers(1, 17).map(str), st.sampled_from(ids), max_size=12)
        case "part_states":
            parts = [part.id for part in question.parts]
            return st.dictionaries(st.sampled_from(parts), st.sampled_from([s.id for s in question.states]))
        case "pins":
            return st.lists(_pin(question), max_size=3)
        case "money":
            return st.sampled_from(["80", "600", "4800"])
    return st.nothing()


def _alone(chosen: list[str]) -> list[str]:
    return ["none"] if "none" in chosen else chosen


def _pin(question: Question) -> st.SearchStrategy:
    return st.fixed_dictionaries(
        {
            "part": st.sampled_from([part.id for part in question.parts]),
            "kind": st.sampled_from([kind.id for kind in question.kinds]),
            "state": st.sampled_from([state.id for state in question.states]),
        },
        optional={"size": st.sampled_from(["2 in", "9 in"]), "count": st.integers(1, 3)},
    )


@st.composite
def walkins(draw: st.DrawFn) -> Walkin:
    raw: dict = {"customer_name": "Somebody", "family": draw(written(BOOK.questions["family"]))}
    skipped = draw(st.sets(st.sampled_from([step.id for step in BOOK.steps[3:11]]), max_size=4))
    for id, question in BOOK.questions.items():
        strategy = written(question)
        wanted = id not in raw and question.step not in skipped and not strategy.is_empty
        if wanted and is_asked(question, read_answers(BOOK, raw).values):
            raw[id] = draw(strategy)
    return Walkin(answers=raw)


def standing(quote: Quote, tier: str) -> set[str]:
    offer = quote.offers[tier]
    return {*offer.jobs, *(inner for inside in offer.includes.values() for inner in inside)}


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
@given(walkins())
def test_any_walk_in_gets_an_honest_quote(walkin):
    quote = make_quote(BOOK, walkin, DAY)
    found = {finding.id for finding in quote.assessment.findings}
    everything = standing(quote, "everything")
    assert quote.assessment.problems == {}
    for tier in TIERS:
        jobs = standing(quote, tier)
        if found & set(UNSETTLED):
            assert not jobs & GEOMETRY
        if "bridge_loose" in found and "bridge-make" not in jobs and jobs & {"setup", "saddle-lower"}:
            assert "bridge-reglue" in jobs
        if everything & RESET and "fret-level-crown" in jobs:
            assert jobs & RESET
    if everything & RESET:
        assert found & {"neck_angle_gone", "neck_angle_gone_bolted", "travel_gone_glued"}
    if found <= {"strings_wanted"} | {f.id for f in quote.assessment.findings if f.severity == "fine"}:
        assert everything <= {"restring", "bench-assessment", "check-over", "condition-report", "pickup-fit",
                              "humidity-advice", "handed-conversion", "nut-make", "saddle-slot-recut",
                              "saddle-make", "setup", "finish-drop-fill"}  # fmt: skip


@pytest.mark.parametrize("family", [choice.id for choice in BOOK.questions["family"].values])
def test_every_family_has_targets_even_for_a_player_nobody_asked_about(family):
    (hit,) = BOOK.targets.evaluate({"family": family})
    for pair in ("action_bass", "action_treble", "relief", "nut_bass", "nut_treble"):
        assert hit.outputs[f"{pair}_low"] < hit.outputs[f"{pair}_high"]
    assert BOOK.defaults.evaluate({"family": family})


def test_plain_restring_path_asks_for_strings_and_nothing_else():
    answers = {
        "customer_name": "Somebody",
        "customer_phone": "555 0100",
        "family": "steel-string",
        "string_count": "6",
        "complaints": ["restring"],
    }
    passed = frozenset(step.id for step in BOOK.steps[3:11])
    quote = make_quote(BOOK, Walkin(answers=answers, not_assessed=passed), DAY)
    assert {offer.jobs for offer in quote.offers.values()} == {("restring",)}
