"""A reason that several jobs share is said with one of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import intake.trade.readings  # noqa: F401
from intake.quoting.quote import make_quote
from intake.quoting.reasons import reason_homes
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

DEMO = Path(__file__).parents[2] / "pricing_demo"


def test_a_reason_stands_with_the_dearest_job_that_it_asks_for() -> None:
    walkin = load_walkin(DEMO / "walkins/03-old-flat-top-neck-reset.toml")
    walkin = replace(walkin, answers={**walkin.answers, "string_age": "years"})
    quote = make_quote(sample_book(), walkin, date(2026, 11, 24))

    homes = reason_homes(quote.jobs, quote.offers["put_right"].jobs)

    said = {finding.id: homes.get(str(finding.says)) for finding in quote.assessment.findings}
    assert said["neck_angle_gone"] == "neck-reset"
    assert said["strings_old"] == "setup"
    assert said["look_inside_braces"] == "inside-inspection"
