"""What an offer's jobs come to, for the drawing “after the work”."""

from __future__ import annotations

from datetime import date
from fractions import Fraction as F
from pathlib import Path

import intake.trade.readings  # noqa: F401
from intake.quoting.outcome import outcome
from intake.quoting.quote import make_quote
from intake.quoting.walkin import load_walkin
from tests.memo import sample_book

DEMO = Path(__file__).parents[2] / "pricing_demo"
BOOK = sample_book()


def after(name: str, tier: str) -> dict[str, F]:
    quote = make_quote(BOOK, load_walkin(DEMO / "walkins" / f"{name}.toml"), date(2026, 11, 24))
    return outcome(quote.assessment.facts, quote.offers[tier], quote.jobs)


def test_new_strings_change_no_height() -> None:
    assert after("34-electric-bolted-bottomed-in-range", "put_right") == {}


def test_a_rod_alone_brings_the_strings_where_its_forecast_says() -> None:
    found = after("04-too-much-relief", "playable")

    assert found["relief"] == F("0.006")
    assert found["action_bass_12"] == F(8, 64) + F("1.7") * (F("0.006") - F("0.024"))
    assert "saddle_showing" not in found


def test_a_lowered_saddle_shows_less_and_never_less_than_the_least() -> None:
    found = after("61-flat-top-just-enough-saddle", "put_right")

    assert found["saddle_showing"] == F(1, 16)
    assert F(13, 128) - F(1, 256) < found["action_bass_12"] < F(13, 128)


def test_after_a_reset_the_saddle_shows_what_is_wanted() -> None:
    found = after("03-old-flat-top-neck-reset", "put_right")

    assert found["saddle_showing"] == F(1, 8)
    assert found["action_bass_12"] == F(15, 128)


def test_work_that_hangs_on_a_new_measurement_promises_no_height() -> None:
    assert after("38-over-wet", "put_right") == {}
