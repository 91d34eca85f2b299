"""The quote as a whole: days, worth, notes, and the JSON that tools read."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from intake.book.model import TIERS
from intake.book.text import Text
from intake.config import demo_book
from intake.quoting.model import Booking, Walkin
from intake.quoting.quote import make_quote, quote_assessment
from intake.quoting.to_json import number, quote_json
from intake.quoting.to_text import quote_text
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

WALKINS = sorted((demo_book() / "walkins").glob("*.toml"))
OLD_FLAT_TOP = demo_book() / "walkins" / "03-old-flat-top-neck-reset.toml"
TODAY = date(2026, 11, 24)


@pytest.fixture(scope="module")
def demo():
    return sample_book()


@pytest.fixture(scope="module")
def quoted(demo):
    return make_quote(demo, load_walkin(OLD_FLAT_TOP), TODAY)


def test_days_follow_from_the_day_it_is_made(make):
    quote = make.quote(make.book([make.job("a")], [("f", "a", "playable")]), "f")
    assert (quote.answer_by, quote.valid_until) == (date(2026, 12, 1), date(2026, 12, 24))
    assert quote.offers["playable"].ready == date(2026, 12, 1)


def test_the_same_walkin_gives_the_same_quote(demo, quoted):
    assert make_quote(demo, load_walkin(OLD_FLAT_TOP), TODAY) == quoted


def test_a_busy_bench_makes_it_later_but_not_dearer(demo, quoted):
    busy = make_quote(demo, load_walkin(OLD_FLAT_TOP), TODAY, Fraction(40))
    for tier in TIERS:
        assert busy.offers[tier].ready > quoted.offers[tier].ready
        assert busy.offers[tier].total == quoted.offers[tier].total


def test_the_worth_is_warned_of_over_the_shops_share(make):
    book = make.book([make.job("a")], [("f", "a", "put_right")])
    dear = make.quote(book, "f", facts={"worth": Fraction(200)})
    assert dear.offers["put_right"].worth_share == Decimal("0.600")
    assert dear.assessment.readings["worth_share"].value == Fraction(3, 5)
    assert any("60 %" in note["en"] and "60 %" in note["fr"] for note in dear.notes)
    assert make.quote(book, "f", facts={"worth": Fraction(240)}).notes == ()
    unknown = make.quote(book, "f")
    assert unknown.offers["put_right"].worth_share is None and not unknown.notes


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        ("2026-12-01", "can be ready by"),
        ("2026-11-30", "with one on December 1, 2026 it is ready on December 1"),
        ("2026-11-23", "cannot be ready by"),
    ],
)
def test_the_quote_says_whether_the_wanted_day_can_hold(make, wanted, said):
    quote = make.quote(make.book([make.job("a")], [("f", "a", "playable")]), "f", facts={"wanted_by": wanted})
    (note,) = quote.notes
    assert said in note["en"]
    assert "décembre" in note["fr"] or wanted < "2026-11-24"


def test_cautions_are_those_of_findings_and_planned_jobs_once_each(make):
    jobs = [make.job("a", caution=Text(en="hot")), make.job("b", caution=Text(en="never asked"))]
    book = make.book(jobs, [("f", "a", "playable")])
    findings = [make.finding("f", caution=Text(en="hot")), make.finding("g", caution=Text(en="cold"))]
    assert [str(caution) for caution in make.quote(book, *findings).cautions] == ["hot", "cold"]


def test_json_is_the_contract(quoted):
    found = json.loads(json.dumps(quote_json(quoted)))
    assert {"readings", "findings", "jobs", "offers", "cautions", "not_measured"} <= found.keys()
    assert found["readings"]["crown_left"] == {"value": 0.034, "unit": "in"}
    assert 0 < found["readings"]["worth_share"]["value"] < 1
    for finding in found["findings"]:
        assert {"id", "severity", "says", "evidence"} <= finding.keys()
    jobs = {job["id"]: job for job in found["jobs"]}
    for job in jobs.values():
        assert {"quantity", "tier", "price", "includes", "because", "forecast"} <= job.keys()
        assert job["hours"]["quick"] <= job["hours"]["usual"] <= job["hours"]["slow"]
        assert job["because"] and set(job["because"]) <= {finding["id"] for finding in found["findings"]}
    assert list(found["offers"]) == list(TIERS)
    for offer in found["offers"].values():
        assert {
            "jobs",
            "hours_p80",
            "labour",
            "parts",
            "tax",
            "total",
            "ready_today",
            "ready",
            "worth_share",
        } <= offer.keys()
        lines = sum(Decimal(line["amount"]) for line in offer["lines"])
        assert sum(Decimal(jobs[id]["price"]) for id in offer["jobs"]) + lines == Decimal(offer["total"])
        assert date.fromisoformat(offer["ready"]) >= date.fromisoformat(found["answer_by"])


def test_numbers_in_json_are_numbers_also_inside_lists_and_maps():
    assert number(Fraction(3)) == 3 and isinstance(number(Fraction(3)), int)
    assert number({1: Fraction(1, 4)}) == {"1": 0.25}
    assert number((Fraction(1, 2), "3/1")) == [0.5, "3/1"]


@pytest.mark.parametrize("path", WALKINS, ids=lambda path: path.stem)
def test_every_sample_reads_well_as_text(path, demo):
    quote = make_quote(demo, load_walkin(path), TODAY)
    text = quote_text(quote, demo)
    for offer, _ in quote.distinct_offers():
        assert all(str(demo.jobs[id].name) in text for id in offer.jobs)
    assert "Playable" in text and "{" not in text
    assert max(map(len, text.splitlines())) <= 110


def test_a_walkin_with_nothing_known_still_gets_a_quote(demo):
    quote = make_quote(demo, Walkin({}), TODAY)
    assert quote.offers["playable"].total >= 0
    assert quote_text(quote, demo)


def test_the_chain_that_sets_the_day_and_the_slack_of_every_job(demo, quoted):
    found = quote_json(quoted)["offers"]["put_right"]
    assert found["critical"][-1] == "setup" and "neck-reset" in found["critical"]
    assert set(found["critical"]) <= set(found["jobs"])
    assert found["slack"].keys() == set(found["jobs"]) - {"settle-check"}
    assert all(hours >= 0 for hours in found["slack"].values()) and found["slack"]["setup"] == 0


def test_tickets_with_days_of_their_own_are_gone_round(make):
    """Wed and Thu are full, Tuesday is ours: one job of 2 h is ready on the day of the go-ahead."""
    book = make.book([make.job("a")], [("f", "a", "playable")])
    full = [Booking(Fraction(6), date(2026, 12, day)) for day in (2, 3)]
    assessment = make.assessment("f")
    ready = quote_assessment(book, assessment, TODAY, booked=full).offers["playable"].ready
    assert ready == date(2026, 12, 1)
    waiting = quote_assessment(book, assessment, TODAY, Fraction(6), full).offers["playable"].ready
    assert waiting == date(2026, 12, 4)


def test_what_was_booked_for_yesterday_is_not_done_yet(make):
    """28.5 bench hours are left from Tuesday 24 to Saturday 28 November; of 34, 5.5 fill 1 December."""
    book = make.book([make.job("a")], [("f", "a", "playable")])
    for hours, ready in ((24, date(2026, 12, 1)), (34, date(2026, 12, 2))):
        late = [Booking(Fraction(hours), date(2026, 11, 2))]
        quote = quote_assessment(book, make.assessment("f"), TODAY, booked=late)
        assert quote.offers["playable"].ready == ready


def test_hours_are_a_range_round_the_80_percent_figure(quoted):
    offers = quoted.offers.values()
    assert all(0 < offer.hours_low < offer.hours_p80 < offer.hours_high for offer in offers)


def test_factors_may_ask_for_skill_and_quantity(make):
    rows = [(">=3", "-", Fraction(2)), ("-", ">=4", Fraction(1, 2))]
    factors = make.table("factors", ("skill", "quantity"), rows, ("factor",))
    for skill, quantity, factor in ((2, 1, 1), (3, 1, 2), (2, 4, Fraction(1, 2)), (4, 4, 1)):
        book = make.book([make.job("a", skill=skill)], [("f", "a", "playable", quantity)], factors=factors)
        assert make.quote(book, "f").jobs[0].hours.usual == 2 * quantity * factor
