"""Whatever the counter takes down, the demo book gives a quote that a repairer could stand by."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import intake.trade.readings  # noqa: F401
from intake.book.answers import is_asked, read_answers
from intake.book.model import TIERS, Question, Tax
from intake.book.text import Text
from intake.quoting.model import Discount, Quote, Walkin
from intake.quoting.quote import make_quote
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

BOOK_FOLDER = Path(__file__).parents[2] / "pricing_demo"
BOOK = sample_book()
DAY = date(2026, 11, 24)
GEOMETRY = {
    "saddle-lower", "saddle-shim", "neck-reset", "neck-reset-bolted", "rod-adjust", "fret-level-crown",
    "fret-spot-level", "refret-partial", "refret-compression", "top-flatten",
}  # fmt: skip
UNSETTLED = ("dry_body", "wet_body")
RESET = {"neck-reset", "neck-reset-bolted"}
ASKS_FOR_RESET = {"neck_angle_gone", "neck_angle_gone_bolted", "travel_gone_glued"}
RESET_BESIDE = {"travel_gone_floating", "travel_gone_floating_bolted"}
"""A floating bridge that is at its lowest is fitted or remade; the reset is the dear way beside it."""
FLOATING = {"floating-bridge-fit", "floating-bridge-make"}


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


@settings(suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
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
        assert found & (ASKS_FOR_RESET | RESET_BESIDE)
        assert walkin.answers.get("neck_joint") != "neck_through"
    if everything & RESET and not found & ASKS_FOR_RESET:
        assert standing(quote, "playable") & FLOATING and not standing(quote, "put_right") & RESET
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


FACTORS = {
    "binding": ("05", {"board_binding": True}, "refret-full", "5/4"),
    "finish": ("05", {"board_finish": "finished"}, "refret-full", "3/2"),
    "old finish": ("03", {"finish_kind": "shellac"}, "neck-reset", "5/4"),
    "an earlier repair": ("03", {"history": ["earlier_repair"]}, "neck-reset", "13/10"),
    "a glued saddle": ("100", {"saddle_fixing": "glued"}, "saddle-make", "18/13"),
    "a glued saddle to be lowered": ("02", {"saddle_fixing": "glued"}, "saddle-lower", "2"),
    "a set-up that lowers a glued saddle": ("02", {"saddle_fixing": "glued"}, "setup", "4/3"),
    "age": ("03", {"year_about": 1912}, "neck-reset", "11/10"),
    "worth": ("03", {"worth": "9500"}, "neck-reset", "11/10"),
    "worth and skill": ("03", {"worth": "9500"}, "settle-check", "1"),
    "age, finish and worth": (
        "03",
        {"year_about": 1912, "finish_kind": "shellac", "worth": "9500"},
        "neck-reset",
        "121/80",
    ),
}


@pytest.mark.parametrize(("number", "told", "job", "times"), FACTORS.values(), ids=FACTORS)
def test_what_the_instrument_is_multiplies_the_hours(number, told, job, times):
    """binding, age, finish, worth and skill, through factors.csv of the demo book."""
    (path,) = (Path(__file__).parents[2] / "pricing_demo" / "walkins").glob(f"{number}-*.toml")
    walkin = load_walkin(path)
    neutral = {
        id: given
        for id, given in walkin.answers.items()
        if id not in ("board_binding", "board_finish", "finish_kind", "history", "saddle_fixing")
    }

    def hours(more):
        quote = make_quote(BOOK, replace(walkin, answers={**neutral, **more}), DAY)
        return next(planned.hours for planned in quote.jobs if planned.id == job)

    plain, changed = hours({}), hours(told)
    assert (changed.quick, changed.usual, changed.slow) == tuple(
        Fraction(times) * each for each in (plain.quick, plain.usual, plain.slow)
    )


@pytest.mark.parametrize(("currency", "digits"), [("EUR", 2), ("JPY", 0), ("KWD", 3)])
def test_the_whole_book_adds_up_in_any_currency(currency, digits):
    """No coin is lost or found: job prices and lines are the total, in coins that the currency has."""
    shop = replace(BOOK.shop, currency=currency, labour_rate=Decimal("72.345"), rounding=Decimal(0))
    taxes = (
        Tax(Text(en="Added"), Decimal("0.0777"), ("labour", "parts"), False),
        Tax(Text(en="Included"), Decimal("0.0333"), ("labour", "parts", "supplies"), True),
    )
    book = replace(BOOK, shop=replace(shop, taxes=taxes))
    for path in sorted((Path(__file__).parents[2] / "pricing_demo" / "walkins").glob("*.toml"))[::4]:
        quote = make_quote(book, load_walkin(path), DAY, adjust=Discount("A third off", Decimal("0.333")))
        prices = {job.id: job.price for job in quote.jobs}
        totals = []
        for offer in quote.offers.values():
            amounts = [*(prices[id] for id in offer.jobs), *(line.amount for line in offer.lines)]
            assert sum(amounts) == offer.total, path.stem
            assert all(amount == round(amount, digits) for amount in (*amounts, offer.total, offer.deposit))
            totals.append(offer.total)
        assert totals == sorted(totals)


def test_dry_wood_has_the_two_weeks_that_the_splint_asks_for() -> None:
    """ "Only after two weeks at 45-50 % humidity", says the caution of the splint."""
    splint = BOOK.jobs["crack-splint"].caution
    assert splint and "two weeks" in str(splint)

    quote = make_quote(BOOK, load_walkin(BOOK_FOLDER / "walkins/06-dried-out.toml"), DAY)

    waits = [one for one in quote.offers["put_right"].schedule if one.kind == "moisture"]
    assert [one.end - one.start for one in waits] == [timedelta(days=14)]


NAMES_A_COMPLAINT = {
    "buzz": re.compile(r"the buzz\b|la frise\b|what buzzes|ce qui frise"),
    "dead_notes": re.compile(r"dead notes|notes are dead|notes mortes|éteindre des notes"),
    "rattle": re.compile(r"what rattles|ce qui vibre|a rattle\b"),
    "hard_to_play": re.compile(r"hard to play|il est dur"),
}
"""How a sentence says that the customer complained of something; the noise is buzz or rattle."""


def named_unasked(quote: Quote, complaints: set[str]) -> list[str]:
    told = [finding.says for finding in quote.assessment.findings] + list(quote.notes)
    words = [sentence for text in told for sentence in text.values()]
    unasked = {one: pattern for one, pattern in NAMES_A_COMPLAINT.items() if one not in complaints}
    noise = [] if complaints & {"buzz", "rattle"} else [re.compile(r"the noise|le bruit")]
    return [said for said in words for pattern in (*unasked.values(), *noise) if pattern.search(said)]


@pytest.mark.parametrize("complaint", ["checkup", "buzz", "dead_notes", "rattle", "hard_to_play"])
def test_a_reason_names_only_a_complaint_that_was_made(complaint: str) -> None:
    """Every second sample walk-in, as if its owner had come for that alone."""
    for path in sorted((BOOK_FOLDER / "walkins").glob("*.toml"))[::2]:
        walkin = load_walkin(path)
        answers = {**walkin.answers, "complaints": [complaint]}

        quote = make_quote(BOOK, replace(walkin, answers=answers), DAY)

        assert named_unasked(quote, {complaint}) == [], path.stem


@settings(suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(walkins())
def test_whatever_is_found_no_reason_names_a_complaint_that_nobody_made(walkin: Walkin) -> None:
    quote = make_quote(BOOK, walkin, DAY)

    assert named_unasked(quote, set(walkin.answers.get("complaints", ()))) == []
