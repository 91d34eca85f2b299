"""The smallest offer answers what the customer came with, or says plainly what it leaves."""

from __future__ import annotations

from datetime import date
from fractions import Fraction as F
from pathlib import Path

import pytest

import intake.trade.readings  # noqa: F401
from intake.quoting.bands import forecast_band
from intake.quoting.model import Quote, Walkin
from intake.quoting.quote import make_quote
from intake.quoting.to_json import quote_json
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

DEMO = Path(__file__).parents[2] / "pricing_demo"
BOOK = sample_book()
DAY = date(2026, 11, 24)
SAMPLES = sorted((DEMO / "walkins").glob("*.toml"))


def quoted(name: str, **answers: object) -> Quote:
    """The quote for a sample walk-in, with some answers changed; None takes one away."""
    walkin = load_walkin(DEMO / "walkins" / f"{name}.toml")
    changed = {id: value for id, value in {**walkin.answers, **answers}.items() if value is not None}
    return make_quote(BOOK, Walkin(changed, walkin.not_assessed, walkin.by_eye), DAY)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_complaint_is_answered_by_the_smallest_offer_or_named_as_left(path: Path) -> None:
    quote = make_quote(BOOK, load_walkin(path), DAY)
    asked = [one for one in quote.assessment.facts.get("complaints", ()) if one != "none"]
    smallest = quote.offers["playable"].jobs
    answered = {one for job in quote.jobs if job.id in smallest for one in job.answers}
    labels = {choice.id: str(choice.label) for choice in BOOK.questions["complaints"].values}

    said = " ".join(map(str, quote.headlines))

    assert not smallest or [one for one in asked if one not in answered and labels[one] not in said] == []


def test_work_that_only_the_usual_offer_held_comes_down_for_a_complaint() -> None:
    crackles = quoted("67-scratchy-and-nothing-else", complaints=["checkup"])
    complains = quoted("67-scratchy-and-nothing-else")

    assert "controls-clean" not in crackles.offers["playable"].jobs
    assert "controls-clean" in complains.offers["playable"].jobs


def test_offers_that_hardly_differ_are_shown_once_and_kept_apart_in_json() -> None:
    quote = quoted("83-rod-loose-nothing-else")

    shown = [tiers for _, tiers in quote.distinct_offers()]

    assert quote_json(quote)["offers"].keys() == {"playable", "put_right", "everything"}
    assert len(shown) == 2 and ("put_right", "everything") in shown


def test_what_costs_more_than_its_share_of_the_worth_has_an_economy_way_first() -> None:
    faults = {"electrics": ["scratchy_controls"], "plate_state": "cracked", "pickup": "works"}
    quote = quoted("62-bow-right-treble-high", complaints=["electrics"], worth="250", **faults)

    offers = quote_json(quote)["offers"]

    assert list(offers) == ["economy", "playable", "put_right", "everything"]
    assert offers["economy"]["jobs"] == ["controls-clean"]
    assert "Economy" in str(quote.headlines[0])


def test_where_even_that_is_too_dear_we_would_leave_it() -> None:
    quote = quoted("91-cheap-flat-top-angle-gone")

    assert "economy" not in quote.offers
    assert "We would leave it" in str(quote.headlines[0])


def test_nothing_wrong_is_said_in_one_sentence_and_a_look_is_charged_once() -> None:
    quote = quoted("92-electric-nothing-wrong")

    assert [str(words) for words in quote.headlines] == [
        "Nothing is wrong: what was looked at and measured is as it should be."
    ]
    assert quote.offers["put_right"].jobs == ("check-over",)


def test_every_job_says_what_happens_if_it_waits() -> None:
    for path in SAMPLES:
        jobs = quote_json(make_quote(BOOK, load_walkin(path), DAY))["jobs"]
        assert all(job["if_it_waits"] for job in jobs)


def test_a_broken_headstock_is_dangerous_under_tension() -> None:
    jobs = {job["id"]: job for job in quote_json(quoted("26-freight-headstock"))["jobs"]}

    assert jobs["headstock-reglue"]["if_it_waits"].startswith("Dangerous")
    assert jobs["condition-report"]["if_it_waits"].startswith("Holds")


def test_a_buzz_that_is_accepted_is_not_left_for_want_of_a_cause() -> None:
    accepted = quoted("102-buzz-in-the-bass-accepted", complaints=["buzz"])

    (said,) = [str(note) for note in accepted.notes if "“Buzz”" in str(note)]

    assert "or that it is accepted" in said


def test_a_deposit_only_from_the_books_least_amount() -> None:
    quote = quoted("02-high-action-saddle-can-give")

    assert quote.offers["playable"].total < 100 and quote.offers["playable"].deposit == 0
    assert quote.offers["put_right"].deposit > 0


def test_a_forecast_has_its_band_and_other_work_none() -> None:
    quote = quoted("38-over-wet")
    bands = {job.id: forecast_band(job, BOOK) for job in quote.jobs}

    low, high = bands["setup"] or (0, 0)

    setup = next(job for job in quote.jobs if job.id == "setup")
    assert low < setup.price < high
    assert bands["dry-out"] is None


def test_a_players_own_height_counts_before_the_books_and_both_are_named() -> None:
    quote = quoted("77-own-low-wish")
    facts = quote.assessment.facts

    said = next(str(f.says) for f in quote.assessment.findings if f.id == "own_heights")

    assert (facts["action_bass_low"], facts["action_bass_high"]) == (F(4, 64), F(5, 64))
    assert "4.5/64 in bass" in said and "6/64 in" in said
