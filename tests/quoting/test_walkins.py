"""Every sample walk-in of the demo shop gets the quote that its repairer expects.

A walk-in's `[expect]` says: jobs that must stand in an offer (`playable`, `put_right`, `everything`; a
list inside means one of these), `never` in any, `before` pairs in bench order where both stand, ranges of
`readings`, the `worst` severity, words of the `cautions`, words that findings, cautions or notes must say
(`says`) or must not (`never_says`), and what must be named as `not_measured`. A job that another absorbs
counts as standing, at the place of the one it is done within.
"""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

import pytest

import intake.trade.readings  # noqa: F401
from intake.book.model import SEVERITIES, TIERS
from intake.quoting.model import Quote
from intake.quoting.quote import make_quote
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

DEMO = Path(__file__).parents[2] / "pricing_demo"
FILES = sorted((DEMO / "walkins").glob("*.toml"))
DAY = date(2026, 11, 24)
KNOWN = {*TIERS, "never", "before", "readings", "worst", "cautions", "says", "never_says", "not_measured"}


@pytest.fixture(scope="module")
def book():
    return sample_book()


def standing(quote: Quote, tier: str) -> dict[str, int]:
    """Job → its place on the bench in that offer; an absorbed one at its absorber's place."""
    offer = quote.offers[tier]
    places = {job: place for place, job in enumerate(offer.jobs)}
    inside = {
        inner: places[outer]
        for outer, within in offer.includes.items()
        for inner in within
        if outer in places
    }
    return {**inside, **places}


def faults(quote: Quote, expect: dict) -> list[str]:
    """What the quote has that the repairer would not, and what it lacks, in sentences."""
    found = [f"“{key}” is not known under [expect]" for key in expect.keys() - KNOWN]
    stand = {tier: standing(quote, tier) for tier in TIERS}
    for tier in TIERS:
        for wanted in expect.get(tier, ()):
            several = wanted if isinstance(wanted, list) else [wanted]
            if not stand[tier].keys() & set(several):
                found.append(f"{tier} lacks {' or '.join(several)}")
        for first, second in expect.get("before", ()):
            if {first, second} <= stand[tier].keys() and stand[tier][first] > stand[tier][second]:
                found.append(f"{tier}: {second} comes before {first}")
        found += [f"{tier} holds {job}" for job in expect.get("never", ()) if job in stand[tier]]
    for id, (low, high) in expect.get("readings", {}).items():
        reading = quote.assessment.readings.get(id)
        if reading is None or not low <= float(reading.value) <= high:
            found.append(f"{id} is {reading and float(reading.value)}, not {low} to {high}")
    worst = max((f.severity for f in quote.assessment.findings), key=SEVERITIES.index, default="fine")
    if worst != expect.get("worst", worst):
        found.append(f"the worst finding is {worst}, not {expect['worst']}")
    said = " ".join(str(caution) for caution in quote.cautions).lower()
    found += [f"no caution says “{word}”" for word in expect.get("cautions", ()) if word.lower() not in said]
    told = " ".join([*(str(f.says) for f in quote.assessment.findings), *map(str, quote.notes), said]).lower()
    found += [f"nothing says “{word}”" for word in expect.get("says", ()) if word.lower() not in told]
    found += [f"something says “{word}”" for word in expect.get("never_says", ()) if word.lower() in told]
    missing = set(expect.get("not_measured", ())) - set(quote.assessment.not_measured)
    return found + [f"{id} is not named as not measured" for id in sorted(missing)]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_quote_is_what_the_repairer_expects(path, book):
    expect = tomllib.loads(path.read_text("utf-8"))["expect"]
    quote = make_quote(book, load_walkin(path), DAY)
    assert quote.assessment.problems == {}
    assert faults(quote, expect) == []


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_an_offer_adds_up_and_holds_the_one_below_it(path, book):
    quote = make_quote(book, load_walkin(path), DAY)
    prices = {job.id: job.price for job in quote.jobs}
    replaced = {weaker for job in quote.jobs for weaker in job.instead_of}
    below: set[str] = set()
    for tier in TIERS:
        offer = quote.offers[tier]
        assert (
            sum(prices[job] for job in offer.jobs) + sum(line.amount for line in offer.lines) == offer.total
        )
        assert below <= standing(quote, tier).keys() | replaced
        below = set(standing(quote, tier))


def test_a_number_stands_for_one_walkin():
    numbers = [path.name.split("-")[0] for path in FILES]

    assert len(set(numbers)) == len(numbers)


def test_strings_go_on_once_an_offer(book):
    quote = make_quote(book, load_walkin(DEMO / "walkins/03-old-flat-top-neck-reset.toml"), DAY)
    prices = {job.id: job for job in quote.jobs}
    offer = quote.offers["put_right"]
    strung = [job for job in offer.jobs if "strings-steel" in {id for id, _, _ in prices[job].parts}]
    assert len(strung) > 1
    others = sum(amount for job in offer.jobs for id, _, amount in prices[job].parts if id != "strings-steel")
    assert offer.parts == others + book.parts["strings-steel"].price


def test_an_expectation_that_is_not_met_is_told(book):
    quote = make_quote(book, load_walkin(DEMO / "walkins/01-plain-restring.toml"), DAY)
    expect = {
        "playable": ["neck-reset"],
        "never": ["restring"],
        "readings": {"crown_left": [1, 2]},
        "worst": "stop",
        "cautions": ["xyz"],
        "says": ["xyz"],
        "never_says": ["strings"],
        "not_measured": ["relief"],
        "befor": [],
    }
    assert len(faults(quote, expect)) == 11
